// Package safety holds the limits of hot-tub water and the answers to danger, as
// data with their sources. It is pure and imports nothing of ours. It never
// diagnoses; it says which band a reading is in and which words come first.
package safety

// Hazard is a kind of danger that can be read out of an owner's words.
type Hazard string

// The hazards, named as the machine interface of `tubhand understand` names them.
const (
	NoHazard           Hazard = "none"
	BreathingOrGas     Hazard = "breathing_or_gas"
	EyesOrSkin         Hazard = "eyes_or_skin"
	Swallowed          Hazard = "swallowed"
	ElectricShock      Hazard = "electric_shock"
	ElectricalFault    Hazard = "electrical_fault"
	Unresponsive       Hazard = "unresponsive_or_drowning"
	Entrapment         Hazard = "entrapment"
	Overheating        Hazard = "overheating"
	InfectionSymptoms  Hazard = "infection_symptoms"
	ChemicalMixing     Hazard = "chemical_mixing"
	FireOrSmoke        Hazard = "fire_or_smoke"
	ChildOrPetInDanger Hazard = "child_or_pet_in_danger"
	EquipmentFault     Hazard = "equipment_fault"
	MedicalQuestion    Hazard = "medical_question"
	SelfHarm           Hazard = "self_harm"
)

// Severity says who must act and how soon.
type Severity string

// The severities, mildest first.
const (
	NoSeverity Severity = "none"
	Technician Severity = "technician"
	PersonSoon Severity = "person_soon"
	Emergency  Severity = "emergency"
)

// Rank orders severities: none 0, technician 1, person soon 2, emergency 3.
func (s Severity) Rank() int {
	switch s {
	case Technician:
		return 1
	case PersonSoon:
		return 2
	case Emergency:
		return 3
	}
	return 0
}
