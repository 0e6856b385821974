package understand

import (
	"strings"

	"tubhand/internal/understand/words"
)

// keyword gives what a whole text means that is one of the words our own messages ask
// for. Nothing learned may overrule these.
func keyword(text string) (intent Intent, service string, ok bool) {
	switch text {
	case "flush", "lavado", "start flush", "flush my pipes", "lavar tuberia":
		return StartService, "flush_plumbing", true
	case "start", "unstop", "inicio", "iniciar":
		return ResumeMessages, "", true
	case "person", "persona", "human", "humano":
		return TalkToHuman, "", true
	case "foam", "espuma":
		return FoamTooMuch, "", true
	case "stuck", "pegado", "esta pegado", "ya se seco y no sale", "esta bien duro":
		return ResidueHardToWipe, "", true
	case "done", "listo", "lista", "all done", "ya quedo":
		return Done, "", true
	case "ya casi", "casi", "ya casi acabo", "todavia no", "aun no", "almost", "almost done", "not yet", "ya empece pero me falta":
		return NotYet, "", true
	case "yes", "si", "yep", "yeah":
		return Yes, "", true
	case "no", "nope":
		return No, "", true
	case "why", "por que", "porque":
		return QuestionWhy, "", true
	case "back", "go back", "atras", "regresar":
		return Undo, "", true
	case "how long", "how long left", "cuanto falta":
		return HowLongLeft, "", true
	case "how much", "cuanto":
		return QuestionDose, "", true
	}
	for _, plain := range [...]struct {
		intent  Intent
		service string
		phrases []string
	}{
		{StartService, "drain", []string{"i want to change the water", "i need to change the water", "like to change the water", "quiero cambiar el agua", "quiero cambiarle el agua", "necesito cambiar el agua", "necesito cambiarle el agua", "quisiera cambiar el agua"}},
		{CancelService, "", []string{"cant finish", "cannot finish", "cant do this today", "cant do it today", "no puedo terminar", "no voy a terminar"}},
		{QuestionDose, "", []string{"how much should i", "how much do i", "cuanto le pongo", "cuanto pongo", "cuanto debo poner"}},
	} {
		for _, phrase := range plain.phrases {
			if strings.Contains(text, phrase) && len(text) < 60 {
				return plain.intent, plain.service, true
			}
		}
	}
	return "", "", false
}

// known tells whether any word of a short text is one that people use around a tub, or
// that the classifier has met. A text of nothing but noise must not be taken for an answer.
func (r *Reader) known(in *input) bool {
	if len(in.tokens) > 4 {
		return true
	}
	for i, atom := range in.atoms {
		if strings.Trim(atom, atom[:1]) == "" && len(atom) > 1 {
			continue // "zzzz"
		}
		if i < len(in.means) && len(in.means[i]) > 0 || isEnglishWord(atom) || isSpanishWord(atom) || r.hasMet(atom) {
			return true
		}
	}
	if strings.ContainsAny(in.text, "0123456789") {
		return true
	}
	for _, t := range in.tokens {
		if t.Kind == words.Emoji {
			return true
		}
	}
	return false
}

// hasMet reports whether the classifier has met a word.
func (r *Reader) hasMet(word string) bool {
	if r.model == nil {
		return true
	}
	var h hashes
	h.add('w', word, "", "")
	return r.model.Knows(h[0])
}

// onlyNumbers tells whether a text is a bare list of numbers: readings or an amount,
// never the code on a display.
func (in *input) onlyNumbers() bool {
	found := false
	for _, t := range in.tokens {
		switch t.Kind {
		case words.Number:
			found = true
		case words.Mark, words.Break:
		default:
			return false
		}
	}
	return found
}
