package conversation

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/understand"
	"tubhand/internal/water"
)

// TestATubsOwnLossWidensTheForecast: two readings with nothing put in between them tell
// how fast the tub uses its chlorine up; an addition between them tells nothing.
func TestATubsOwnLossWidensTheForecast(t *testing.T) {
	begin := time.Date(2026, 6, 13, 8, 0, 0, 0, time.UTC)
	read := func(hours int, ppm float64) Past {
		return Past{At: begin.Add(time.Duration(hours) * time.Hour), Read: Readings{understand.FreeChlorine: {Low: ppm, High: ppm}}}
	}
	dose := Past{At: begin.Add(time.Hour), Chemical: "sodium_dichlor_dihydrate", Grams: 5}
	usual := water.UsualDecay()
	for name, c := range map[string]struct {
		past           []Past
		slower, faster bool
	}{
		"nothing known":       {nil, false, false},
		"one reading":         {[]Past{read(0, 5)}, false, false},
		"used hard":           {[]Past{read(0, 9), read(2, 3)}, false, true},
		"at rest, for days":   {[]Past{read(0, 9), read(70, 8.5)}, true, false},
		"dosed in between":    {[]Past{read(0, 9), dose, read(2, 3)}, false, false},
		"it rose":             {[]Past{read(0, 3), read(2, 9)}, false, false},
		"dosed after":         {[]Past{read(0, 9), read(2, 3), dose}, false, false},
		"nothing is left":     {[]Past{read(0, 5), read(2, 0)}, false, false},
		"usual wear and tear": {[]Past{read(0, 5), read(10, 3)}, false, false},
	} {
		t.Run(name, func(t *testing.T) {
			tn := &turn{c: Conversation{Tub: Tub{Sanitizer: "chlorine", Past: c.past}}}
			got := tn.decay()
			require.Equal(t, c.slower, got.Low < usual.Low, "%+v", got)
			require.Equal(t, c.faster, got.High > usual.High, "%+v", got)
			require.LessOrEqual(t, got.Low, usual.Low)
			require.GreaterOrEqual(t, got.High, usual.High)
		})
	}
}

// TestThePastSurvivesTheStore: what is kept comes back as it was, open ends and all.
func TestThePastSurvivesTheStore(t *testing.T) {
	in := Conversation{Tub: Tub{Past: []Past{
		{At: time.Date(2026, 6, 13, 8, 0, 0, 0, time.UTC), Read: Readings{
			understand.FreeChlorine: {Low: 10, OpenHigh: true}, understand.PH: {Low: 7.2, High: 7.8},
			understand.Bromine: {High: 1, OpenLow: true}, understand.TotalAlkalinity: {Low: 100, High: 100},
		}},
		{At: time.Date(2026, 6, 13, 9, 0, 0, 0, time.UTC), Chemical: "sodium_bisulfate", Grams: 12.5},
	}}}
	text, err := json.Marshal(in)
	require.NoError(t, err)
	var out Conversation
	require.NoError(t, json.Unmarshal(text, &out))
	require.Equal(t, in.Tub.Past, out.Tub.Past)
}
