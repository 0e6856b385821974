package conversation_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
)

// owning begins with a tub that is known.
func owning(w *conversation.World) *walk {
	k := newWalk(w)
	k.c.Tub.VolumeUSGal, k.c.Tub.Sanitizer = 375, "chlorine"
	return k
}

func place1(k *walk) string {
	if k.c.Service == nil {
		return "none"
	}
	return k.c.Service.Flow + "/" + k.c.Service.State
}

// TestTroublesBeginAtTheirOwnQuestions: who tells a trouble is not asked which it is.
func TestTroublesBeginAtTheirOwnQuestions(t *testing.T) {
	w := world(t)
	for text, want := range map[string]string{
		"the water is cloudy": "trouble_water/anyone_ill", "green water": "trouble_water/green_looks",
		"my tub smells bad": "trouble_water/smell_is", "white scale on the jets": "trouble_water/scale_test",
		"my tub is not heating": "trouble_fault/set_above_water", "weak jets": "trouble_fault/level_and_valves_right",
		"it shows an error code": "trouble_fault/display_shows", "there is a leak": "trouble_fault/water_near_wires",
		"the pump is making a loud noise": "trouble_fault/noise_is", "my cover strap is broken": "trouble_fault/cover_is",
		"the cover is too heavy": "trouble_fault/cover_is", "airlock": "trouble_airlock/level",
		"agua turbia": "trouble_water/anyone_ill", "la bomba hace mucho ruido": "trouble_fault/noise_is",
		"se rompio la correa de la tapa": "trouble_fault/cover_is", "no calienta": "trouble_fault/set_above_water",
	} {
		k := owning(w)
		k.text(text)
		require.Equal(t, want, place1(k), text)
		require.NotContains(t, k.said(), "You can soak", text)
	}
}

// TestADrainCoverIsNoCover: what holds people fast is a danger, not a matter of straps.
func TestADrainCoverIsNoCover(t *testing.T) {
	w := world(t)
	for _, text := range []string{"the drain cover is broken", "the suction cover is cracked", "la tapa del desagüe está rota"} {
		k := owning(w)
		k.text(text)
		require.NotEqual(t, "trouble_fault/cover_is", place1(k), text)
	}
}

// TestWhatWasToldGoesToWhoeverTakesTheCase: staff read the answers in plain words, the
// last one to a question, and nothing is said of a tub that nobody has described.
func TestWhatWasToldGoesToWhoeverTakesTheCase(t *testing.T) {
	k := owning(world(t))
	for _, text := range []string{"my tub is not heating", "yes", "no", "back", "yes", "no"} {
		k.text(text)
	}
	require.Equal(t, "none", place1(k))
	require.Len(t, k.c.Open, 1)
	facts := k.c.Open[0].Facts
	require.Contains(t, facts, `What they told: first "my tub is not heating"; set above water: yes; filters rinsed lately: yes; strong flow: no`)
	require.NotContains(t, facts, "By now", "nobody has said what state the tub is in")
}

// TestACodeIsPassedOnWordForWord: no meaning of ours stands between the display and the technician.
func TestACodeIsPassedOnWordForWord(t *testing.T) {
	k := owning(world(t))
	for _, text := range []string{"error code", "E4", "no"} {
		k.text(text)
	}
	require.Contains(t, k.c.Open[0].Facts, `display shows: "E4"; manual says: no`)
}

// TestSomebodyIllStandsAgainstTheWater: a yes to the question counts as much as the words.
func TestSomebodyIllStandsAgainstTheWater(t *testing.T) {
	k := owning(world(t))
	k.text("cloudy water")
	k.text("yes")
	require.False(t, k.c.Tub.Ill.IsZero())
	require.NotNil(t, k.c.Hold)
	k.text("4 7.4 100 100")
	require.NotContains(t, k.said(), "You can soak")
}

// TestAServiceLeavesATroubleOfItsOwn: a fault that was not answered is in no service's
// way; a trouble that interrupted a service goes on.
func TestAServiceLeavesATroubleOfItsOwn(t *testing.T) {
	w := world(t)
	k := owning(w)
	k.text("no heat")
	k.text("flush my pipes")
	require.Equal(t, "flush_plumbing/product", place1(k))
	require.Empty(t, k.c.Service.Told)

	k = owning(w)
	k.text("flush my pipes")
	k.text("my tub is not heating")
	require.Equal(t, "trouble_fault/set_above_water", place1(k), "a fault's own questions come first")
	for _, answer := range []string{"yes", "yes", "no"} {
		k.text(answer)
	}
	require.Equal(t, "flush_plumbing/product", place1(k))
	require.NotNil(t, k.c.Hold, "and the service waits for who takes the case")
	require.Len(t, k.c.Open, 1)
}

// TestAnUnsafeReadingWithinATroubleIsAPersons: also where the trouble asked for something else.
func TestAnUnsafeReadingWithinATroubleIsAPersons(t *testing.T) {
	k := owning(world(t))
	k.text("cloudy water")
	k.text("free chlorine 15, ph 7.4, alkalinity 100")
	require.NotNil(t, k.c.Hold)
	require.Equal(t, "unsafe_reading", k.c.Open[0].Cause)
}
