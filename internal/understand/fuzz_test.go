package understand_test

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
	"testing/synctest"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"tubhand/internal/safety"
	"tubhand/internal/understand"
)

// FuzzUnderstand holds what must be true of any bytes in any context: an answer in the
// words of the interface, numbers that are numbers, and JSON that can be written.
func FuzzUnderstand(f *testing.F) {
	for _, text := range []string{"", "3 7.4 100", "ph 7,4 cloro 3", "👍", "\x00\xff\xfe", "stop", "7.2-7.6 / 1.234.567,8", "hour and a half and a half", "> On Tue wrote:\n>\n-- \n",
		"between 3 and", "over", "a hundred thousand point point", "84x84x36 in", "5 gal bucket in 50 s and 62 minutes", "can't breathe", strings.Repeat("no 7 ", 2000)} {
		f.Add(text, uint8(1))
	}
	f.Fuzz(func(t *testing.T, text string, seed uint8) {
		m := understand.Understand(text, contextOf(seed))
		require.NotEmpty(t, m.Intent)
		require.Contains(t, []string{"en", "es"}, m.Language)
		require.Equal(t, m.Hazard == safety.NoHazard, m.Severity == safety.NoSeverity)
		for q, v := range m.Readings {
			require.Contains(t, understand.AllQuantities(), q)
			require.False(t, math.IsNaN(v.Low) || math.IsInf(v.Low, 0) || math.IsNaN(v.High) || math.IsInf(v.High, 0))
			require.True(t, v.OpenLow || v.OpenHigh || v.Low <= v.High)
		}
		if m.Volume != nil && !m.Volume.Unknown {
			require.Positive(t, m.Volume.HighUSGal)
			require.True(t, m.Volume.LowUSGal > 0 || m.Volume.OpenLow)
			require.LessOrEqual(t, m.Volume.LowUSGal, m.Volume.HighUSGal)
			require.False(t, m.Volume.Dimensions != nil && !m.Volume.Dimensions.Inside && !m.Clarify, "an estimate must be confirmed")
		}
		require.True(t, m.Clarify == (m.ClarifyWhy != ""))
		_, err := json.Marshal(m.Readings)
		require.NoError(t, err)
	})
}

// contextOf makes a context of a byte, so that the fuzzer reaches every kind of question.
func contextOf(seed uint8) understand.Context {
	asked := []understand.Asked{"", understand.AskedReadings, understand.AskedVolume, understand.AskedDone, understand.AskedYesNo, understand.AskedConfirm,
		understand.AskedChoice, understand.AskedTime, understand.AskedLanguage, understand.AskedNothing}
	ctx := understand.Context{Asked: asked[int(seed)%len(asked)], Step: []string{"", "soak", "heat", "drain"}[int(seed/16)%4]}
	switch ctx.Asked {
	case understand.AskedReadings:
		ctx.AskedReadings = understand.AllQuantities()[:1+int(seed/8)%5]
	case understand.AskedConfirm:
		ctx.Proposed = map[string]float64{"ph": 7.2, "us_gal": 375}
	case understand.AskedChoice:
		ctx.Choices = []understand.Choice{{Name: "drain"}, {Name: "later", Words: []string{"not now", "después"}}, {}}
	}
	return ctx
}

func TestLongTextsTakeBoundedTime(t *testing.T) {
	for _, part := range []string{"a ", "7.4 ", "ph 7.4 ", "hundred ", "- ", "no no ", "kid fell in water ", "1,", "and a half ", "\n> ", "between 3 and ", "\u0301", "😀", "over ", "ph ", "point 5 ", "x 7 "} {
		text := strings.Repeat(part, 10_000/len(part))
		for seed := range uint8(10) {
			began := time.Now()
			require.True(t, utf8.ValidString(string(understand.Understand(text, contextOf(seed)).Intent)))
			require.Less(t, time.Since(began), 2*time.Second, "%q", part)
		}
	}
}

func TestManyAtOnce(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		want := understand.Understand("ph 7.4 chlorine 3", understand.Context{})
		for range 8 {
			go func() {
				require.Equal(t, want, understand.Understand("ph 7.4 chlorine 3", understand.Context{}))
			}()
		}
		synctest.Wait()
	})
}
