package understand

import "tubhand/internal/safety"

// hottestF is the water temperature above which a person takes over (safety decisions:
// the thermostat is not to be trusted then).
const hottestF = 106

// agree makes hazard, intent and values of one meaning agree: water over 106 F is a
// hazard whatever the words, and some troubles always need a technician or a person.
func (m *Meaning) agree() {
	temperature, told := m.Readings[WaterTemp]
	hot := told && !temperature.Unknown && (temperature.Low > hottestF || temperature.OpenHigh && temperature.Low >= hottestF)
	switch {
	case hot && m.Severity.Rank() < safety.PersonSoon.Rank():
		m.Hazard, m.Severity = safety.Overheating, safety.PersonSoon
	case told && !hot && m.Hazard == safety.Overheating && m.Severity == safety.PersonSoon && !temperature.Unknown:
		m.Hazard, m.Severity = safety.NoHazard, safety.NoSeverity
	}
	switch m.Intent {
	case ErrorCodeShown, HeaterNotHeating, Leak:
		if m.Severity == safety.NoSeverity {
			m.Hazard, m.Severity = safety.EquipmentFault, safety.Technician
		}
	case GFCITrips:
		if m.Severity.Rank() < safety.PersonSoon.Rank() {
			m.Hazard, m.Severity = safety.ElectricalFault, safety.PersonSoon
		}
	}
}
