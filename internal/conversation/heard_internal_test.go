package conversation

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tubhand/internal/understand"
)

// What is remembered is what would be understood, whatever was asked before in another
// context, and however small the memory is beside what is said.
func TestWhatWasHeardIsWhatWouldBeUnderstood(t *testing.T) {
	choices := [][]understand.Choice{
		nil,
		{{Name: "pump", Words: []string{"with a pump"}}, {Name: "gravity", Words: []string{"hose", "siphon"}}},
		{{Name: "hose", Words: []string{"pump"}}, {Name: "sewer"}},
	}
	text := rapid.OneOf(
		rapid.SampledFrom([]string{"done", "Yes", "no", "y", "n", "pump", "hose", "sewer", "ok", "STOP", "help", "fire", "foam", "menu",
			"listo", "sí", "two", "chlorine", "7.4", "3", "", "shocked", "hot", "ok thanks", "unconscious"}),
		rapid.StringMatching(`[a-z]{1,3}`),
	)
	var h heard
	rapid.Check(t, func(rt *rapid.T) {
		in := understand.Context{
			Language: rapid.SampledFrom([]string{"", "en", "es"}).Draw(rt, "language"),
			Asked: rapid.SampledFrom([]understand.Asked{understand.AskedDone, understand.AskedYesNo, understand.AskedChoice,
				understand.AskedConfirm, understand.AskedReadings, understand.AskedVolume, understand.AskedNothing}).Draw(rt, "asked"),
			Choices: rapid.SampledFrom(choices).Draw(rt, "choices"),
			Step:    rapid.SampledFrom([]string{"", "soak", "drain"}).Draw(rt, "step"),
		}
		if in.Asked == understand.AskedConfirm {
			in.Proposed = map[string]float64{"ph": 7.2}
		}
		if in.Asked == understand.AskedReadings {
			in.AskedReadings = []understand.Quantity{understand.PH}
		}
		said := text.Draw(rt, "text")
		want := understand.Understand(said, in)
		require.Equal(rt, want, h.understand(said, in))
		require.Equal(rt, want, h.understand(said, in))
	})
	require.NotEmpty(t, h.young)
}

func TestTheMemoryOfWordsIsBounded(t *testing.T) {
	var h heard
	for i := range 5 * heardMost {
		h.keep(word{text: strings.Repeat("a", i)}, understand.Meaning{})
		require.LessOrEqual(t, len(h.young)+len(h.old), 2*heardMost)
	}
	_, ok := h.find(word{text: strings.Repeat("a", 5*heardMost-1)})
	require.True(t, ok)
	_, ok = h.find(word{})
	require.False(t, ok)
}

func TestOnlySingleWordsAreKept(t *testing.T) {
	for _, text := range []string{"", "ph 7", "7", "ok thanks", "done!", strings.Repeat("a", 17)} {
		_, ok := wordOf(text, context{})
		require.False(t, ok, text)
	}
	w, ok := wordOf("listo", context{Language: "es"})
	require.True(t, ok)
	require.Equal(t, word{text: "listo", language: "es"}, w)
}
