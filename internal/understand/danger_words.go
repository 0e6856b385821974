package understand

import (
	"strings"

	"tubhand/internal/safety"
)

// plainDanger finds the plainest words of an emergency: with them hardly any belief is
// needed, and none where there is no classifier. What else is dangerous is left to it.
func plainDanger(text string) (safety.Hazard, bool) {
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
	{safety.Entrapment, []string{"hair is stuck", "hair got stuck", "hair is caught", "stuck in the drain", "trapped in the drain", "pelo atorado", "cabello atorado", "atoro el pelo", "atoro el cabello", "cabello se atoro", "pelo se atoro"}},
	{safety.FireOrSmoke, []string{"is on fire", "caught fire", "smoke coming out", "smoke coming from", "flames", "se esta quemando", "sale humo", "se prendio fuego", "se incendio"}},
}
