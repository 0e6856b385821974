package safety

import "strings"

// LocalEmergency stands for the emergency number of a region that is not in the table.
const LocalEmergency = "your local emergency number"

// Lines are the numbers to call in one region, as people there write them. Emergency is
// never empty in what LinesFor gives; Poison and Crisis are "" where none is known,
// and then the answers name none rather than a wrong one.
type Lines struct {
	Emergency     string
	Poison        string
	Crisis        string
	CrisisTexts   bool   // the crisis line answers texts too
	CrisisSpanish string // how to reach the crisis line in Spanish, where that differs
}

// LinesFor gives the numbers of a region, an ISO 3166 two-letter code in either case.
// An unknown region has LocalEmergency and no other number.
func LinesFor(region string) Lines {
	region = strings.ToUpper(strings.TrimSpace(region))
	for _, row := range lineTable {
		for known := range strings.FieldsSeq(row.regions) {
			if known == region {
				return row.lines
			}
		}
	}
	return Lines{Emergency: LocalEmergency}
}

// EmergencyIn gives the emergency number as it follows the verb in a sentence: "911" or
// LocalEmergency after "call", and for "es" "al 911" or "a emergencias" after "llame".
func (l Lines) EmergencyIn(lang string) string {
	known := l.Emergency != "" && l.Emergency != LocalEmergency
	switch {
	case lang == "es" && known:
		return "al " + l.Emergency
	case lang == "es":
		return "a emergencias"
	case known:
		return l.Emergency
	}
	return LocalEmergency
}

// call is the order to call the emergency number, in the language.
func (l Lines) call(spanish bool) string {
	if spanish {
		return "Llame " + l.EmergencyIn("es")
	}
	return "Call " + l.EmergencyIn("en")
}

// advice is whom to ask about a poison by someone who is well so far.
func (l Lines) advice(spanish bool) string {
	switch {
	case spanish && l.Poison != "":
		return "llame al centro de envenenamientos (" + l.Poison + ")"
	case spanish:
		return "pida consejo médico"
	case l.Poison != "":
		return "call the poison help line at " + l.Poison
	}
	return "ask a doctor or poison center"
}

// listen is the order to call those who listen: the crisis line, or where none is known
// someone close. The emergency number is named beside it in any case.
func (l Lines) listen(spanish bool) string {
	switch {
	case spanish && l.CrisisSpanish != "":
		return "Llame al " + l.CrisisSpanish
	case spanish && l.Crisis != "":
		return "Llame al " + l.Crisis
	case l.Crisis != "" && l.CrisisTexts:
		return "Call or text " + l.Crisis
	case l.Crisis != "":
		return "Call " + l.Crisis
	case spanish:
		return "Llame a alguien de confianza"
	}
	return "Call someone you trust"
}
