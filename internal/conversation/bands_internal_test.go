package conversation

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tubhand/internal/safety"
	"tubhand/internal/water"
)

func TestThePlannersBandsFollowTheShops(t *testing.T) {
	require.Equal(t, water.DefaultBands().FreeChlorine, bandsOf(safety.Default()).FreeChlorine)
	require.Equal(t, water.DefaultBands().PH, bandsOf(safety.Default()).PH)
	require.Equal(t, water.DefaultBands().CalciumHardness, bandsOf(safety.Default()).CalciumHardness, "the planner's own is narrower")

	low, high, hot := 7.4, 4.0, 102.0
	limits, err := safety.Default().Tighten(map[string]safety.Narrower{
		safety.PH: {SoakLow: &low}, safety.FreeChlorine: {SoakHigh: &high}, safety.WaterTemp: {SoakHigh: &hot},
	})
	require.NoError(t, err)
	bands := bandsOf(limits)
	require.Equal(t, 7.4, bands.PH.SoakLow)
	require.Equal(t, 7.4, bands.PH.AimLow)
	require.Equal(t, 4.0, bands.FreeChlorine.SoakHigh)
	require.Equal(t, 4.0, bands.FreeChlorine.AimHigh)
	require.InDelta(t, 38.9, bands.Temperature.SoakHigh, 0.02)
}

// TestWhateverAShopTightensCanBePlannedBy: the planner takes every set of bands that the
// shop's limits can lead to.
func TestWhateverAShopTightensCanBePlannedBy(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		narrower := map[string]safety.Narrower{}
		for _, row := range safety.Default().All() {
			span := func(low, high float64) *float64 {
				if !rapid.Bool().Draw(t, "set") || low < -1e6 || high > 1e6 {
					return nil
				}
				x := rapid.Float64Range(low, high).Draw(t, "bound")
				return &x
			}
			narrower[row.Quantity] = safety.Narrower{
				SoakLow: span(row.Soak.Low, row.Soak.High), SoakHigh: span(max(0, row.Soak.Low), row.Soak.High),
				FixLow: span(row.Fix.Low, row.Soak.Low), FixHigh: span(row.Soak.High, row.Fix.High),
			}
		}
		limits, err := safety.Default().Tighten(narrower)
		if err != nil {
			return // no value left to soak in
		}
		bands := bandsOf(limits)
		_, err = water.Plan(water.Request{Sanitizer: water.ByChlorine, Bands: &bands, Water: water.Readings{PH: water.Exactly(7.4)}})
		require.NoError(t, err)
	})
}
