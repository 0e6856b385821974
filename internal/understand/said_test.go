package understand_test

import (
	"encoding/json"
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/understand"
)

// TestWhatOwnersSay holds every line of testdata/said.txt.
func TestWhatOwnersSay(t *testing.T) {
	data, err := os.ReadFile("testdata/said.txt")
	require.NoError(t, err)
	for n, line := range strings.Split(string(data), "\n") {
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		first, last := strings.Index(line, " | "), strings.LastIndex(line, " | ")
		require.Less(t, first, last, "testdata/said.txt:%d: want asked | text | values", n+1)
		text := line[first+3 : last]
		want, ask := strings.CutSuffix(line[last+3:], " ask")
		m := understand.Understand(text, saidIn(t, line[:first]))
		require.JSONEq(t, want, saidValues(t, m), "testdata/said.txt:%d: %q", n+1, text)
		require.Equal(t, ask, m.Clarify, "testdata/said.txt:%d: %q: %s", n+1, text, m.ClarifyWhy)
	}
}

func shortNames() map[string]understand.Quantity {
	return map[string]understand.Quantity{
		"fc": understand.FreeChlorine, "tc": understand.TotalChlorine, "cc": understand.CombinedChlorine, "br": understand.Bromine, "ph": understand.PH,
		"ta": understand.TotalAlkalinity, "ch": understand.CalciumHardness, "cya": understand.CyanuricAcid, "tds": understand.TDS, "po4": understand.Phosphate,
		"salt": understand.Salt, "t": understand.WaterTemp,
	}
}

// saidIn reads "readings fc,ph", "volume" or "confirm ph=7.4".
func saidIn(t *testing.T, asked string) understand.Context {
	kind, rest, _ := strings.Cut(asked, " ")
	ctx := understand.Context{Asked: understand.Asked(kind)}
	switch ctx.Asked {
	case understand.AskedReadings:
		for _, short := range strings.Split(rest, ",") {
			require.Contains(t, shortNames(), short)
			ctx.AskedReadings = append(ctx.AskedReadings, shortNames()[short])
		}
	case understand.AskedConfirm:
		name, value, _ := strings.Cut(rest, "=")
		if q, ok := shortNames()[name]; ok {
			name = string(q)
		}
		x, err := strconv.ParseFloat(value, 64)
		require.NoError(t, err)
		ctx.Proposed = map[string]float64{name: x}
	}
	return ctx
}

// saidValues writes the values of a meaning under the short names.
func saidValues(t *testing.T, m understand.Meaning) string {
	parts := []string{}
	for short, q := range shortNames() {
		v, ok := m.Readings[q]
		if !ok {
			continue
		}
		data, err := json.Marshal(v)
		require.NoError(t, err)
		parts = append(parts, fmt.Sprintf("%q:%s", short, data))
	}
	if m.Volume != nil {
		v := understand.Value{Low: m.Volume.LowUSGal, High: m.Volume.HighUSGal, OpenLow: m.Volume.OpenLow, OpenHigh: m.Volume.OpenHigh, Unknown: m.Volume.Unknown}
		data, err := json.Marshal(v)
		require.NoError(t, err)
		parts = append(parts, fmt.Sprintf("%q:%s", "volume", data))
	}
	return "{" + strings.Join(parts, ",") + "}"
}
