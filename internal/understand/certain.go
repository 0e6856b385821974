package understand

import (
	"strings"

	"tubhand/internal/safety"
	"tubhand/internal/understand/words"
)

// keyword gives what a whole text means that is one of the words our own messages ask
// for. Nothing learned may overrule these.
func keyword(text string) (intent Intent, service string, ok bool) {
	switch text {
	case "flush", "lavado", "start flush", "flush my pipes", "lavar tuberia":
		return StartService, "flush_plumbing", true
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
		phrases []string
	}{
		{CancelService, []string{"cant finish", "cannot finish", "cant do this today", "cant do it today", "no puedo terminar", "no voy a terminar"}},
		{QuestionDose, []string{"how much should i", "how much do i", "cuanto le pongo", "cuanto pongo", "cuanto debo poner"}},
	} {
		for _, phrase := range plain.phrases {
			if strings.Contains(text, phrase) && len(text) < 60 {
				return plain.intent, "", true
			}
		}
	}
	return "", "", false
}

// certainDanger finds the plainest words of an emergency, which no balance of learned
// weights may outvote. What else is dangerous is left to the classifier.
func certainDanger(text string) (safety.Hazard, bool) {
	padded := " " + text + " "
	for _, calm := range [...]string{" what if ", " in case ", " if someone ", " if somebody ", " if anyone ", " should anyone ", " used to ", " years ago ",
		" last year ", " movie ", " joke ", " joking ", " kidding ", " que pasa si ", " si alguien ", " hace anos ", " broma ", " pelicula ", " never "} {
		if strings.Contains(padded, calm) {
			return "", false
		}
	}
	for _, sign := range signs {
		for _, phrase := range sign.phrases {
			if strings.Contains(padded, " "+phrase+" ") {
				return sign.hazard, true
			}
		}
	}
	return "", false
}

// signs are phrases as folded words, by hazard.
var signs = [...]struct {
	hazard  safety.Hazard
	phrases []string
}{
	{safety.SelfHarm, []string{"dont want to live", "do not want to live", "want to die", "kill myself", "end my life", "hurt myself",
		"quiero morir", "quiero morirme", "quitarme la vida", "no quiero vivir", "ya no quiero vivir", "matarme"}},
	{safety.BreathingOrGas, []string{"cant breathe", "can not breathe", "cannot breathe", "cant breath", "trouble breathing", "hard to breathe",
		"no puedo respirar", "no puede respirar", "no respira bien", "cant stop coughing", "no para de toser", "no deja de toser"}},
	{safety.Unresponsive, []string{"unconscious", "not breathing", "isnt breathing", "wont wake up", "passed out", "not responding", "face down in",
		"inconsciente", "no despierta", "se desmayo", "no responde", "no respira"}},
	{safety.Swallowed, []string{"swallowed chlorine", "swallowed some", "swallowed the", "drank some of", "drank the chlorine", "drank chlorine",
		"se trago", "se tomo el cloro", "tomo cloro", "ate some of the granules"}},
	{safety.EyesOrSkin, []string{"in my eyes", "in my eye", "in his eyes", "in her eyes", "in his eye", "in her eye", "en los ojos", "en el ojo", "en mis ojos"}},
	{safety.ElectricShock, []string{"got an electric shock", "got shocked", "electrocuted", "shock from the water", "me dio toques", "me dio un toque",
		"me electrocute", "descarga electrica"}},
	{safety.Entrapment, []string{"hair is stuck", "hair got stuck", "hair is caught", "stuck in the drain", "trapped in the drain", "pelo atorado", "cabello atorado", "cabello se atoro", "pelo se atoro"}},
	{safety.FireOrSmoke, []string{"is on fire", "caught fire", "smoke coming out", "smoke coming from", "flames", "se esta quemando", "sale humo", "se prendio fuego", "se incendio"}},
}

// known tells whether any word of a short text is one that people use around a tub, or
// that the classifier has met. A text of nothing but noise must not be taken for an answer.
func (r *Reader) known(in *input) bool {
	if len(in.tokens) > 4 {
		return true
	}
	for i, atom := range in.atoms {
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

// hasMet reports whether a word weighs anything with the classifier of intents.
func (r *Reader) hasMet(word string) bool {
	if r.intent == nil {
		return true
	}
	var h hashes
	h.add('w', word)
	return r.intent.Knows(h[0])
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
