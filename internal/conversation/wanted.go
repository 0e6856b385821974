package conversation

import (
	"slices"
	"strings"

	"tubhand/internal/understand"
)

// Services that package understand has no name for are found by stems of words, after
// danger, opt-outs and troubles, and only where nothing is running.

// strong tells whether a text was read as something that no stems may talk over: numbers,
// a trouble, the wish for a person, what went wrong.
func strong(m *understand.Meaning) bool {
	if len(m.Readings) > 0 {
		return true
	}
	switch m.Intent {
	case understand.StartService, understand.Other, understand.Answer, understand.Done, understand.NotYet, understand.Undo,
		understand.ScheduleLater, understand.QuestionDose, understand.QuestionWhy, understand.QuestionWhen, understand.HowLongLeft,
		understand.Yes, understand.No, understand.MoreTime, understand.CannotFindPart, understand.Help, understand.ResumeMessages:
		return false
	}
	return true
}

// hardly tells whether a text was read as a trouble only for a word that sanitizer shares
// with it: "el cloro no dura" is not about a hard crust, and chlorine that drops is no heat.
func hardly(m *understand.Meaning, service string) bool {
	return service == "sanitizer_drops" && (m.Intent == understand.Scale || m.Intent == understand.HeaterNotHeating)
}

// sign is what has to stand in a text for a service: one stem of each group.
type sign struct {
	service string
	groups  [][]string
}

// wantedSign finds the service that a sentence is about; "" where it is none of these.
func wantedSign(text string) string {
	words := strings.FieldsFunc(unaccented.Replace(strings.ToLower(text)), func(r rune) bool { return !isLetter(r) && r != '\'' })
	stands := func(stems []string) bool {
		return slices.ContainsFunc(words, func(word string) bool {
			return slices.ContainsFunc(stems, func(stem string) bool { return startsWith(word, stem) })
		})
	}
	for _, s := range signs() {
		if !slices.ContainsFunc(s.groups, func(stems []string) bool { return !stands(stems) }) {
			return s.service
		}
	}
	return ""
}

// startsWith takes a stem that ends in a full stop for the whole word.
func startsWith(word, stem string) bool {
	if whole, ok := strings.CutSuffix(stem, "."); ok {
		return word == whole
	}
	return strings.HasPrefix(word, stem)
}

// signs are in the order in which they are tried: the more telling first.
func signs() []sign {
	return []sign{
		{"sanitizer_drops", [][]string{{"chlorine", "bromine", "sanitiz", "cloro", "bromo", "desinfectante"}, {"hold", "disappear", "vanish", "drops", "dropping", "loses", "losing", "mantien", "dura.", "desaparec", "acaba.", "pierde"}}},
		{"switch_sanitizer", [][]string{{"switch", "change", "convert", "cambi", "pasar"}, {"chlorine", "cloro"}, {"bromine", "bromo"}}},
		{"home_again", [][]string{{"back.", "returned", "home.", "regres", "volvimos"}, {"vacation", "trip", "away", "travel", "vacacion", "viaje"}}},
		{"leaving", [][]string{{"away", "vacation", "trip.", "travel", "leaving", "leave", "vacacion", "viaje"}, {"week", "month", "vacation", "trip.", "going", "semana", "mes.", "meses", "vamos", "voy.", "viaje"}}},
		{"open_up", [][]string{{"open", "reopen", "abrir"}, {"winter", "spring", "season", "again", "invierno", "primavera", "temporada"}}},
		{"close_down", [][]string{{"close", "closing", "shut", "winteriz", "cerrar"}, {"winter", "season", "frost", "invierno", "temporada", "frio"}}},
		{"salt_mineral", [][]string{{"salt", "mineral", "sal.", "salina"}, {"system", "cell", "tub.", "water", "cartridge", "sistema", "celda", "tina", "cartucho"}}},
		{"new_owner", [][]string{{"bought", "purchased", "owner", "compre", "compramos", "comprar"}, {"tub", "spa.", "tina"}}},
		{"high_cyanuric", [][]string{{"cya.", "cyanuric", "stabilizer", "cianuric", "estabilizador"}, {"high", "too", "much", "lower", "reduc", "alto", "mucho", "bajar", "sobra"}}},
		{"ph_drift", [][]string{{"ph."}, {"hold", "drift", "keeps", "rising", "rises", "climb", "falling", "drops", "sube", "baja", "mantien", "cae."}}},
		{"rental_turnover", [][]string{{"guest", "renter", "rental", "huesped", "inquilin", "renta."}, {"new.", "next", "between", "checked", "arriv", "coming", "turnover", "left.", "leave", "ready", "llega", "salieron", "nuevos", "entre", "lista"}}},
		{"power_cut", [][]string{{"power", "electricity", "luz.", "electricidad"}, {"out.", "outage", "cut.", "went", "failure", "lost", "fue.", "apagon", "corte", "regreso", "hubo"}}},
		{"new_water", [][]string{{"fill", "llen"}, {"just", "first", "new.", "fresh", "nueva", "primera", "recien", "acab"}}},
	}
}
