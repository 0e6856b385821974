package understand

import (
	"strings"

	"tubhand/internal/safety"
)

// Understand tells what a text means in its context.
func (r *Reader) Understand(text string, ctx Context) Meaning {
	in := prepare(text, ctx)
	m := Meaning{Language: in.language(), Hazard: safety.NoHazard, Severity: safety.NoSeverity}
	in.values(&m)
	e := in.evidence(&m)
	bare := strings.Join(in.bare(), " ")
	plain, said := plainDanger(bare)
	m.Intent = Other
	switch {
	case r.model != nil:
		shares := r.model.Shares(e.hashed())
		m.Hazard, m.Severity = r.danger(shares[askHazard]).decide(plain)
		m.Intent = r.chooseIntent(&e, shares[askIntent], &m)
	case said:
		m.Hazard, m.Severity = plain, safety.Emergency
	}
	if !r.known(&in) && !said {
		m.Intent, m.Service, m.Hazard, m.Severity = Other, "", safety.NoHazard, safety.NoSeverity
	}
	offered := in.isChoiceWord(bare)
	if !said && (offered || in.driftsAlone()) {
		m.Hazard, m.Severity = safety.NoHazard, safety.NoSeverity
	}
	if m.Intent == StopMessages && offered {
		m.Intent, m.Service = Answer, ""
	}
	if intent, service, ok := keyword(bare); ok {
		m.Intent, m.Service = intent, service
	}
	if in.isOptOut() {
		m.Intent, m.Service = StopMessages, ""
	}
	if m.Intent != StopMessages {
		in.confirm(&m)
		in.choice(&m)
		if m.Choice != "" && !said && len(in.tokens) <= 4 {
			m.Hazard, m.Severity = safety.NoHazard, safety.NoSeverity // a choice picked, and no more
		}
		in.askInVain(&m)
	}
	m.agree()
	return m
}

// values takes readings and volume out of the text.
func (in *input) values(m *Meaning) {
	f := in.findReadings()
	m.dropped = f.dropped
	m.Readings, m.Proposal, m.ClarifyWhy = f.readings, f.proposal, f.why
	v := in.findVolume()
	m.Volume = v.volume
	if m.ClarifyWhy == "" {
		m.ClarifyWhy = v.why
	}
	if v.proposal > 0 && m.Proposal == nil {
		m.Proposal = map[string]float64{"us_gal": v.proposal}
	}
	m.Clarify = m.ClarifyWhy != ""
}

// language counts the small words of each language; what the conversation speaks
// decides where the text has none.
func (in *input) language() string {
	english, spanish := 0, 0
	for _, t := range in.tokens {
		switch {
		case isEnglishWord(t.Text):
			english++
		case isSpanishWord(t.Text), t.Spelled && isSpanishFigure(t.Text):
			spanish++
		}
	}
	if strings.ContainsAny(in.text, "¿¡ñáíóú") {
		spanish++
	}
	switch {
	case spanish > english:
		return "es"
	case english > spanish || in.ctx.Language == "":
		return "en"
	}
	return in.ctx.Language
}

// isSpanishFigure reports whether a spelled number begins with a Spanish numeral.
func isSpanishFigure(text string) bool {
	for _, start := range [...]string{"uno", "dos", "tres", "cuatro", "cinco", "siete", "ocho", "nueve", "diez", "once", "doce", "trece", "catorce", "quince", "dieci", "veint", "treint", "cuarenta", "cincuenta", "sesenta",
		"setenta", "ochenta", "noventa", "cien", "quinient", "mil"} {
		if strings.HasPrefix(text, start) {
			return true
		}
	}
	return false
}

func isEnglishWord(w string) bool {
	switch w {
	case "the", "is", "it", "its", "and", "to", "of", "in", "my", "you", "that", "this", "for", "on", "with", "not", "dont", "have", "was",
		"im", "are", "what", "how", "when", "yes", "yeah", "yep", "ok", "please", "just", "at", "but", "we", "can", "do", "does", "done", "water",
		"tub", "about", "chlorine", "stop", "help", "i", "they", "he", "she", "still", "too", "from", "out", "now", "all", "there", "alk", "over",
		"hardness", "gallons", "thanks", "why", "cant", "wont", "got", "get", "will", "be", "or", "if", "an":
		return true
	}
	return false
}

func isSpanishWord(w string) bool {
	switch w {
	case "el", "la", "los", "las", "de", "que", "y", "en", "es", "un", "una", "por", "con", "para", "se", "lo", "le", "ya", "si", "mi", "su",
		"esta", "como", "pero", "mas", "muy", "hay", "del", "al", "agua", "tina", "cloro", "cuanto", "cuando", "gracias", "hola", "tengo", "quiero",
		"listo", "ahorita", "todavia", "ayuda", "bien", "espuma", "hace", "son", "alcalinidad", "dureza", "galones", "litros", "porque", "donde",
		"puedo", "sale", "sigue", "nada", "eso", "asi", "claro", "buenas", "dias", "tardes", "senor", "oiga", "mire", "estoy", "tambien", "alto",
		"cancelar", "baja", "parar", "bromo", "simon", "correcto", "nos", "me", "te", "fue", "sin", "aun", "mero", "falta", "toca", "voy":
		return true
	}
	return false
}
