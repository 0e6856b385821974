package water_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/water"
)

// plainTub is a tub for additions, 1,000 L so that grams are mg/L.
func plainTub() water.Water {
	return water.Water{VolumeL: 1000, TempC: 25, PH: 7.5, TotalAlkalinity: 100, CalciumHardness: 150, TDS: 600}
}

func ExamplePredict() {
	w := water.Water{VolumeL: 1400, TempC: 38, PH: 8.0, TotalAlkalinity: 120, CalciumHardness: 180, TDS: 600}
	after, err := water.Predict(w, water.Addition{Chemical: water.SodiumBisulfate, Grams: 25})
	fmt.Printf("pH %.2f, alkalinity %.0f, %v\n", after.PH, after.TotalAlkalinity, err)
	// Output: pH 7.41, alkalinity 113, <nil>
}

func predict(t *testing.T, w water.Water, c water.Chemical, grams float64) water.Water {
	t.Helper()
	after, err := water.Predict(w, water.Addition{Chemical: c, Grams: grams})
	require.NoError(t, err)
	return after
}

func TestWhatEachChemicalBrings(t *testing.T) {
	// Change for 10 g in 1,000 L, by stoichiometry from the molar masses.
	for _, c := range []struct {
		chemical water.Chemical
		changes  map[water.Quantity]float64
	}{
		{water.DichlorDihydrate, map[water.Quantity]float64{water.FreeChlorine: 5.55, water.CyanuricAcid: 5.05, water.TotalAlkalinity: 1.96}},
		{water.CalciumHypochlorite65, map[water.Quantity]float64{water.FreeChlorine: 6.5, water.CalciumHardness: 4.59, water.TotalAlkalinity: 4.59}},
		{water.SodiumBisulfate, map[water.Quantity]float64{water.TotalAlkalinity: -4.168}},
		{water.SodiumBicarbonate, map[water.Quantity]float64{water.TotalAlkalinity: 5.957}},
		{water.SodiumCarbonate, map[water.Quantity]float64{water.TotalAlkalinity: 9.443}},
		{water.CalciumChloride77, map[water.Quantity]float64{water.CalciumHardness: 6.944}},
		{water.BoricAcid, map[water.Quantity]float64{water.BorateB: 1.748, water.TotalAlkalinity: 0}},
		{water.Borax, map[water.Quantity]float64{water.BorateB: 1.134, water.TotalAlkalinity: 2.624}},
		{water.Monopersulfate, map[water.Quantity]float64{water.CombinedChlorine: 2.085, water.FreeChlorine: 0}},
		{water.SodiumBromide, map[water.Quantity]float64{water.Bromine: 0, water.TotalAlkalinity: 0}},
	} {
		before := plainTub()
		after := predict(t, before, c.chemical, 10)
		for q, change := range c.changes {
			require.InDelta(t, change, *after.At(q)-*before.At(q), 0.02, "%s, %s", c.chemical, q)
		}
		require.NotZero(t, after.PH)
	}
	for _, c := range water.Chemicals() {
		require.NotEqual(t, plainTub(), predict(t, plainTub(), c, 10), "%s does nothing", c)
	}
}

func TestBleachByTradePercent(t *testing.T) {
	// Trade percent is grams of available chlorine in 100 mL (White, Handbook of
	// Chlorination, 1972): 83.3 mL of 12 % would bring 10 mg/L to 1,000 L, so 80 mL of
	// 12.5 %.
	after := predict(t, plainTub(), water.SodiumHypochlorite125, 80*water.BleachDensity(125))
	require.InDelta(t, 10, after.FreeChlorine, 1e-9)
	require.InDelta(t, 1.164, water.BleachDensity(120), 1e-9, "between the published 1.160 and 1.168")
}

func TestBromideTakesUpChlorine(t *testing.T) {
	w := plainTub()
	w.FreeChlorine = 2
	after := predict(t, w, water.SodiumBromide, 30)
	require.InDelta(t, 0, after.FreeChlorine, 1e-9)
	require.InDelta(t, 2*159.808/70.906, after.Bromine, 1e-6)
	w = plainTub()
	w.Bromine = 1
	after = predict(t, w, water.SodiumHypochlorite10, 20)
	require.Zero(t, after.FreeChlorine, "in a bromine tub chlorine becomes bromine")
	require.Greater(t, after.Bromine, 1.0)
	require.Greater(t, predict(t, w, water.Monopersulfate, 20).Bromine, 1.0)
}

func TestThiosulfateTakesChlorineAway(t *testing.T) {
	w := plainTub()
	w.FreeChlorine, w.CombinedChlorine, w.Bromine = 3, 0.5, 1
	grams, most, err := water.Neutralize(w)
	require.NoError(t, err)
	require.InDelta(t, 1.9*(3.5+70.906/159.808), grams, 1e-6)
	require.InDelta(t, 7.0/1.9, most/grams, 0.01)
	after := predict(t, w, water.Thiosulfate, grams)
	require.InDelta(t, 0, after.FreeChlorine+after.CombinedChlorine+after.Bromine, 1e-9)
	after = predict(t, w, water.Thiosulfate, 1.9)
	require.InDelta(t, 2, after.FreeChlorine, 1e-9, "1.9 mg to a mg of chlorine")
	require.InDelta(t, 0.5, after.CombinedChlorine, 1e-12, "free chlorine first")
	w.VolumeL = 0
	_, _, err = water.Neutralize(w)
	require.ErrorContains(t, err, "volume_l")
}

func TestWaterWithoutPH(t *testing.T) {
	w := plainTub()
	w.PH, w.TotalAlkalinity = 0, 0
	after := predict(t, w, water.DichlorDihydrate, 10)
	require.Zero(t, after.PH, "no pH is made up")
	require.InDelta(t, 5.55, after.FreeChlorine, 0.01)
	_, err := water.Chlorine(w, water.Wahman)
	require.ErrorContains(t, err, "ph")
	_, err = water.Index(w)
	require.ErrorContains(t, err, "ph")
}

func TestRefusals(t *testing.T) {
	for _, c := range []struct {
		field string
		spoil func(*water.Water)
	}{
		{"ph", func(w *water.Water) { w.PH = 15 }},
		{"temp_c", func(w *water.Water) { w.TempC = math.NaN() }},
		{"volume_l", func(w *water.Water) { w.VolumeL = 0 }},
		{"volume_l", func(w *water.Water) { w.VolumeL = -1 }},
		{"total_alkalinity", func(w *water.Water) { w.TotalAlkalinity = -1 }},
		{"calcium_hardness", func(w *water.Water) { w.CalciumHardness = math.Inf(1) }},
		{"cyanuric_acid", func(w *water.Water) { w.CyanuricAcid = 1e7 }},
		{"borate_b", func(w *water.Water) { w.BorateB = -0.1 }},
		{"tds", func(w *water.Water) { w.TDS = 1e7 }},
		{"free_chlorine", func(w *water.Water) { w.FreeChlorine = -1 }},
		{"combined_chlorine", func(w *water.Water) { w.CombinedChlorine = math.NaN() }},
		{"bromine", func(w *water.Water) { w.Bromine = 1e7 }},
	} {
		w := plainTub()
		c.spoil(&w)
		_, err := water.Predict(w)
		var field *water.FieldError
		require.ErrorAs(t, err, &field)
		require.Equal(t, c.field, string(field.Field))
	}
	_, err := water.Predict(plainTub(), water.Addition{Chemical: "vinegar", Grams: 1})
	var chemical *water.ChemicalError
	require.ErrorAs(t, err, &chemical)
	for _, grams := range []float64{-1, math.NaN(), math.Inf(1), 1e9} {
		_, err := water.Predict(plainTub(), water.Addition{Chemical: water.Borax, Grams: grams})
		var wrong *water.GramsError
		require.ErrorAs(t, err, &wrong, "%g", grams)
	}
}

func TestContradiction(t *testing.T) {
	w := plainTub()
	w.TotalAlkalinity, w.CyanuricAcid, w.PH = 20, 100, 8
	_, err := water.Predict(w)
	require.ErrorIs(t, err, water.ErrContradiction)
	require.ErrorContains(t, err, "total_alkalinity")
}

func TestAmountRefusesWhatCannotBe(t *testing.T) {
	for _, c := range []struct {
		chemical water.Chemical
		q        water.Quantity
		target   float64
	}{
		{water.SodiumBisulfate, water.PH, 8.0},
		{water.SodiumBicarbonate, water.PH, 9.5},
		{water.SodiumBicarbonate, water.TotalAlkalinity, 50},
		{water.BoricAcid, water.FreeChlorine, 3},
		{water.CalciumChloride77, water.CalciumHardness, 100},
	} {
		_, _, err := water.Amount(plainTub(), c.chemical, c.q, c.target)
		require.ErrorIs(t, err, water.ErrNoEffect, "%s to %s %g", c.chemical, c.q, c.target)
	}
	_, _, err := water.Amount(plainTub(), water.Borax, water.Volume, 500)
	require.ErrorContains(t, err, "target")
	_, _, err = water.Amount(plainTub(), water.Borax, "alkalinity", 500)
	require.ErrorContains(t, err, "target")
	grams, _, err := water.Amount(plainTub(), water.Borax, water.PH, 7.5)
	require.NoError(t, err)
	require.Zero(t, grams, "already there")
}

func TestAmountForBromine(t *testing.T) {
	grams, after, err := water.Amount(plainTub(), water.SodiumHypochlorite125, water.Bromine, 5)
	require.NoError(t, err)
	require.InDelta(t, 5*70.906/159.808/125*water.BleachDensity(125)*1000, grams, 1e-6)
	require.InDelta(t, 5, after.Bromine, 1e-9)
}

func TestCombinedFrom(t *testing.T) {
	combined, ok := water.CombinedFrom(3, 3.4)
	require.True(t, ok)
	require.InDelta(t, 0.4, combined, 1e-9)
	combined, ok = water.CombinedFrom(3, 2.9)
	require.True(t, ok)
	require.Zero(t, combined)
	_, ok = water.CombinedFrom(3, 1)
	require.False(t, ok, "free above total")
	_, ok = water.CombinedFrom(math.NaN(), 1)
	require.False(t, ok)
}

func TestReplacementDays(t *testing.T) {
	// Maine 10-144 CMR ch. 202 Appendix B, Example 2.
	require.InDelta(t, 100, water.ReplacementDays(600, 2), 1e-9)
	require.True(t, math.IsInf(water.ReplacementDays(600, 0), 1))
	require.True(t, water.DrainDueByTDS(800, 2500))
	require.False(t, water.DrainDueByTDS(800, 2000))
}
