package conversation_test

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// TestSentencesStartWhatTheyAreAbout: what owners write instead of a word of the menu
// starts the service, in both languages.
func TestSentencesStartWhatTheyAreAbout(t *testing.T) {
	w := world(t)
	for service, texts := range map[string][]string{
		"new_water": {
			"we just filled it", "we just filled our hot tub, what now?", "I just finished filling my new tub", "acabamos de llenar la tina",
			"la llenamos con agua nueva",
		},
		"sanitizer_drops": {
			"my chlorine won't hold", "the chlorine keeps dropping to zero overnight", "my bromine won't hold",
			"el cloro no dura nada", "el bromo se acaba de un día para otro",
		},
		"high_cyanuric":    {"my CYA is too high", "how do I lower cyanuric acid?", "tengo mucho estabilizador en el agua", "the stabilizer is way too high"},
		"ph_drift":         {"my pH won't hold", "the ph keeps rising no matter what I do", "mi pH siempre sube", "why does my pH keep drifting up"},
		"rental_turnover":  {"our guests just left and new ones arrive at 4", "new guests are coming tonight", "ya salieron los huéspedes y llegan otros"},
		"power_cut":        {"we lost power last night", "the power was out for 6 hours", "hubo un apagón, se fue la luz toda la noche"},
		"away":             {"we are going away for three weeks", "we leave for vacation on Friday", "we are back from vacation", "nos vamos de viaje dos semanas", "ya regresamos de vacaciones"},
		"close_down":       {"how do I winterize my hot tub for winter?", "we want to close the tub for the winter", "quiero cerrar la tina por el invierno"},
		"open_up":          {"opening the tub again after winter", "quiero abrir la tina otra vez, ya es primavera"},
		"switch_sanitizer": {"I want to switch from chlorine to bromine", "quiero pasar de cloro a bromo"},
		"salt_mineral":     {"my tub has a salt system", "mi tina es de sal"},
		"new_owner":        {"I just bought a hot tub", "compramos una tina"},
	} {
		for _, text := range texts {
			k := owning(w)
			k.text(text)
			require.NotNil(t, k.c.Service, text)
			require.Equal(t, service, k.c.Service.Flow, text)
		}
	}
}

// TestSignsTalkOverNothing: dangers, opt-outs, readings, troubles and the wish for a person
// stay what they are, whatever else the sentence is about.
func TestSignsTalkOverNothing(t *testing.T) {
	w := world(t)
	for _, text := range []string{
		"we just filled it and my kid got shocked", "just filled it and now it won't heat", "we just filled it, can a person call me",
		"stop texting me, the chlorine won't hold", "just filled it, ph 7.2 alkalinity 80",
	} {
		k := owning(w)
		k.text(text)
		if k.c.Service != nil {
			require.NotContains(t, []string{"new_water", "sanitizer_drops"}, k.c.Service.Flow, text)
		}
	}
}

// TestAServiceTakesAVolumeInPassing: who names the gallons with the wish is not only
// thanked for them, and not asked again.
func TestAServiceTakesAVolumeInPassing(t *testing.T) {
	k := newWalk(world(t))
	k.text("I want to flush my 400 gallon tub")
	require.Equal(t, "flush_plumbing/sanitizer", place1(k))
	require.InDelta(t, 400, k.c.Tub.VolumeUSGal, 0.5)
}

// TestABareWordOverAFault: a fault that was asked about and not answered is in no menu
// word's way; what answers the fault stays an answer.
func TestABareWordOverAFault(t *testing.T) {
	k := owning(world(t))
	k.text("no heat")
	k.text("TEST")
	require.Equal(t, "test_water/retest", place1(k))

	k = owning(world(t))
	k.text("no heat")
	k.text("FILTER")
	require.Equal(t, "clean_filters/kind_of_cleaning", place1(k))

	k = owning(world(t))
	k.text("TROUBLE")
	k.text("cover")
	require.Equal(t, "trouble_fault/cover_is", place1(k))
}
