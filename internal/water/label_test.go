package water_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tubhand/internal/water"
)

// usualLabel is common practice for a plumbing flush, no source: one level teaspoon for
// 125 US gallons, and a jar of twelve.
func usualLabel() water.LabelRate {
	return water.LabelRate{Teaspoons: 1, PerUSGal: 125, JarTeaspoons: 12}
}

func ExampleLabelRate_Dose() {
	rate := water.LabelRate{Teaspoons: 1, PerUSGal: 125, JarTeaspoons: 12}
	spoons, err := rate.Dose(375)
	fmt.Println(spoons, err)
	// Output: 3 <nil>
}

func TestLabelDose(t *testing.T) {
	for _, c := range []struct{ usGal, spoons float64 }{
		{375, 3}, {250, 2}, {1400 / 3.785411784, 2.75}, {374.9, 2.75}, {124, 0.75}, {125, 1}, {31, 0}, {31.25, 0.25},
	} {
		got, err := usualLabel().Dose(c.usGal)
		require.NoError(t, err)
		require.InDelta(t, c.spoons, got, 1e-12, "%g US gallons", c.usGal)
	}
}

func TestLabelDoseIsNeverRoundedUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rate := water.LabelRate{
			Teaspoons: rapid.Float64Range(0.25, 10).Draw(t, "spoons"),
			PerUSGal:  rapid.Float64Range(10, 1000).Draw(t, "per"), JarTeaspoons: 20,
		}
		usGal := rapid.Float64Range(1, 2000).Draw(t, "gallons")
		got, err := rate.Dose(usGal)
		require.NoError(t, err)
		exact := usGal * rate.Teaspoons / rate.PerUSGal
		require.LessOrEqual(t, got, exact+1e-9)
		require.Greater(t, got, exact-0.25)
		require.Zero(t, math.Mod(got, 0.25))
	})
}

func TestJars(t *testing.T) {
	tubs, err := usualLabel().TubsLeft(375)
	require.NoError(t, err)
	require.Equal(t, 4, tubs)
	jars, err := usualLabel().JarsFor(5, 375)
	require.NoError(t, err)
	require.Equal(t, 2, jars)
	jars, err = usualLabel().JarsFor(1, 2000)
	require.NoError(t, err)
	require.Equal(t, 2, jars, "one dose of 16 spoons takes two jars")
	_, err = usualLabel().TubsLeft(20)
	require.ErrorIs(t, err, water.ErrTinyDose)
}

func TestLabelRefusals(t *testing.T) {
	for _, usGal := range []float64{0, -5, math.NaN(), math.Inf(1)} {
		_, err := usualLabel().Dose(usGal)
		require.ErrorIs(t, err, water.ErrUnknownVolume, "%g", usGal)
		_, err = usualLabel().TubsLeft(usGal)
		require.ErrorIs(t, err, water.ErrUnknownVolume, "%g", usGal)
	}
	for _, rate := range []water.LabelRate{{}, {Teaspoons: 1}, {Teaspoons: math.NaN(), PerUSGal: 125}, {Teaspoons: 1, PerUSGal: -125}} {
		_, err := rate.Dose(375)
		require.ErrorIs(t, err, water.ErrLabelRate, "%+v", rate)
	}
	_, err := water.LabelRate{Teaspoons: 1, PerUSGal: 125}.JarsFor(1, 375)
	require.ErrorIs(t, err, water.ErrLabelRate)
}

func TestMeasureWords(t *testing.T) {
	for _, c := range []struct {
		m    water.Measure
		want string
	}{
		{water.Measure{Quantity: 1, Unit: water.LevelTeaspoon}, "1 level teaspoon"},
		{water.Measure{Quantity: 1.25, Unit: water.LevelTeaspoon}, "1 1/4 level teaspoons"},
		{water.Measure{Quantity: 0.5, Unit: water.Teaspoon}, "1/2 teaspoon"},
		{water.Measure{Quantity: 0.125, Unit: water.LevelTeaspoon}, "1/8 level teaspoon"},
		{water.Measure{Quantity: 2, Unit: water.FluidOunce}, "2 fl oz"},
		{water.Measure{Quantity: 0.35000000000000003, Unit: water.OunceWeight}, "0.35 oz by weight"},
		{water.Measure{Quantity: 2.5, Unit: water.Gram}, "2.5 g by weight"},
	} {
		require.Equal(t, c.want, c.m.String())
	}
}
