package conversation_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/safety"
	"tubhand/internal/understand"
	"tubhand/internal/water"
)

// TestBandsAgree: what people are told about a reading and what the planner doses by
// are kept in two packages, neither of which may import the other.
func TestBandsAgree(t *testing.T) {
	bands := water.DefaultBands()
	for quantity, planner := range map[understand.Quantity]water.Limits{
		understand.FreeChlorine: bands.FreeChlorine, understand.Bromine: bands.Bromine, understand.PH: bands.PH,
		understand.CombinedChlorine: bands.CombinedChlorine, understand.CyanuricAcid: bands.CyanuricAcid,
		understand.TotalAlkalinity: bands.TotalAlkalinity,
	} {
		limit, ok := safety.Default().Of(string(quantity))
		require.True(t, ok, quantity)
		require.Equal(t, planner.SoakHigh, limit.Soak.High, "%s: highest to soak in", quantity)
		require.Equal(t, planner.FixHigh, limit.Fix.High, "%s: highest to fix", quantity)
		if planner.SoakLow > 0 {
			require.Equal(t, planner.SoakLow, limit.Soak.Low, "%s: lowest to soak in", quantity)
		}
		if planner.FixLow > 0 {
			require.Equal(t, planner.FixLow, limit.Fix.Low, "%s: lowest to fix", quantity)
		}
	}
	temperature, ok := safety.Default().Of(string(understand.WaterTemp))
	require.True(t, ok)
	require.InDelta(t, temperature.Soak.High, bands.Temperature.SoakHigh*1.8+32, 1e-9)
	require.InDelta(t, temperature.Fix.High, bands.Temperature.FixHigh*1.8+32, 1e-9)
}
