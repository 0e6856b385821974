package safety

// Hazards lists every hazard but NoHazard, in the order they are declared.
func Hazards() []Hazard {
	all := make([]Hazard, 0, len(hazardSeverities))
	for _, row := range hazardSeverities {
		all = append(all, row.hazard)
	}
	return all
}

// Severities lists which severities the hazard may have, mildest first. It is empty
// for NoHazard and for a hazard that is not known.
func Severities(h Hazard) []Severity {
	for _, row := range hazardSeverities {
		if row.hazard == h {
			return append([]Severity(nil), row.may...)
		}
	}
	return nil
}

// SeverityOf is the severity of a hazard of which nothing more is known: the worst it
// may have where life can hang on it, else its usual one. It is NoSeverity for NoHazard,
// and Emergency for a hazard that is not known: a false alarm costs less than a miss.
func SeverityOf(h Hazard) Severity {
	if h == NoHazard || h == "" {
		return NoSeverity
	}
	for _, row := range hazardSeverities {
		if row.hazard == h {
			return row.usual
		}
	}
	return Emergency
}

// hazardSeverities is our decision, hazard by hazard. Trouble breathing, swallowing, a
// shock, fire and the like have no mild form that a text message could tell apart.
// Never changed.
var hazardSeverities = []struct {
	hazard Hazard
	usual  Severity
	may    []Severity
}{
	{BreathingOrGas, Emergency, []Severity{Emergency}},
	{EyesOrSkin, Emergency, []Severity{PersonSoon, Emergency}}, // soon: on skin, washed off, no pain
	{Swallowed, Emergency, []Severity{Emergency}},
	{ElectricShock, Emergency, []Severity{Emergency}},
	{ElectricalFault, PersonSoon, []Severity{Technician, PersonSoon}}, // technician: tripped once
	{Unresponsive, Emergency, []Severity{Emergency}},
	{Entrapment, Emergency, []Severity{PersonSoon, Emergency}},      // soon: a drain cover, nobody held
	{Overheating, Emergency, []Severity{PersonSoon, Emergency}},     // soon: water over 106 F, nobody unwell
	{InfectionSymptoms, PersonSoon, []Severity{PersonSoon}},         // who cannot breathe is BreathingOrGas
	{ChemicalMixing, PersonSoon, []Severity{PersonSoon, Emergency}}, // emergency: it reacts
	{FireOrSmoke, Emergency, []Severity{Emergency}},
	{ChildOrPetInDanger, Emergency, []Severity{Emergency}},
	{EquipmentFault, Technician, []Severity{Technician}},
	{MedicalQuestion, PersonSoon, []Severity{PersonSoon}},
	{SelfHarm, Emergency, []Severity{Emergency}},
}
