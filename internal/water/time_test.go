package water_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/water"
)

func TestAerateForRisesTowardTheAir(t *testing.T) {
	w := water.Water{TempC: 38, PH: 7.2, TotalAlkalinity: 100, CalciumHardness: 150, TDS: 600}
	end, err := water.Aerate(w, water.AirCO2)
	require.NoError(t, err)
	last := w.PH
	for _, minutes := range []int{10, 30, 60, 240, 1440} {
		got, err := water.AerateFor(w, time.Duration(minutes)*time.Minute, 0.7, water.AirCO2)
		require.NoError(t, err)
		require.Greater(t, got.PH, last, "%d minutes", minutes)
		require.Less(t, got.PH, end.PH)
		require.InDelta(t, w.TotalAlkalinity, got.TotalAlkalinity, 1e-9)
		last = got.PH
	}
	still, err := water.AerateFor(w, time.Hour, 0, water.AirCO2)
	require.NoError(t, err)
	require.InDelta(t, w.PH, still.PH, 1e-9)
}

func TestAerateForFollowsTheFirstHourByHand(t *testing.T) {
	// 25 C, pH 7.2, alkalinity 100: CO2 is about 10^(6.31-7.2) of the bicarbonate, 2 mM,
	// so 0.257 mM. A rate of 0.1 an hour for half an hour takes 5 % of the excess over
	// 0.0136 mM: 0.012 mM. pH = 6.31 + log10(2.0/0.245) = 7.22.
	w := water.Water{TempC: 25, PH: 7.2, TotalAlkalinity: 100, TDS: 300}
	got, err := water.AerateFor(w, 30*time.Minute, 0.1, water.AirCO2)
	require.NoError(t, err)
	require.InDelta(t, 7.22, got.PH, 0.003)
}

func TestExchangeIsFoundAgain(t *testing.T) {
	w := water.Water{TempC: 38, PH: 7.3, TotalAlkalinity: 90, CalciumHardness: 150, CyanuricAcid: 20, TDS: 600}
	for _, rate := range []float64{0.05, 0.7, 3} {
		after, err := water.AerateFor(w, 45*time.Minute, rate, water.AirCO2)
		require.NoError(t, err)
		got, ok := water.FitExchange(w, after.PH, 45*time.Minute, water.AirCO2)
		require.True(t, ok)
		require.InEpsilon(t, rate, got, 1e-3)
	}
	_, ok := water.FitExchange(w, 7.0, time.Hour, water.AirCO2)
	require.False(t, ok, "air does not lower this pH")
	_, ok = water.FitExchange(w, 7.5, 0, water.AirCO2)
	require.False(t, ok)
}

func TestAerateRefusals(t *testing.T) {
	w := water.Water{TempC: 38, PH: 7.3, TotalAlkalinity: 90, TDS: 600}
	for _, co2 := range []float64{0, -1, 2, math.NaN()} {
		_, err := water.Aerate(w, co2)
		require.ErrorContains(t, err, "pco2_atm", "%g", co2)
		_, err = water.AerateFor(w, time.Hour, 1, co2)
		require.ErrorContains(t, err, "pco2_atm", "%g", co2)
	}
	_, err := water.AerateFor(w, -time.Hour, 1, water.AirCO2)
	require.ErrorContains(t, err, "elapsed")
	_, err = water.AerateFor(w, time.Hour, math.NaN(), water.AirCO2)
	require.ErrorContains(t, err, "exchange")
	w.PH = 0
	_, err = water.AerateFor(w, time.Hour, 1, water.AirCO2)
	require.ErrorContains(t, err, "ph")
}

func TestDecay(t *testing.T) {
	d, ok := water.DecayBetween(water.Exactly(4), water.Exactly(2), 24*time.Hour)
	require.True(t, ok)
	require.InDelta(t, math.Ln2/24, d.Low, 1e-12)
	require.InDelta(t, d.Low, d.High, 1e-12)
	left := d.After(water.Exactly(4), 48*time.Hour)
	require.InDelta(t, 1, left.Low, 1e-9)
	soonest, latest := d.Until(water.Between(4, 6), 3)
	require.InDelta(t, 24*math.Log2(4.0/3), soonest.Hours(), 1e-6)
	require.InDelta(t, 24, latest.Hours(), 1e-6)
}

func TestDecayOfRanges(t *testing.T) {
	d, ok := water.DecayBetween(water.Between(3, 5), water.Between(1, 3), 10*time.Hour)
	require.True(t, ok)
	require.Zero(t, d.Low, "it may not have fallen at all")
	require.InDelta(t, math.Log(5)/10, d.High, 1e-12)
	_, latest := d.Until(water.Exactly(5), 3)
	require.Equal(t, time.Duration(math.MaxInt64), latest)
	d, ok = water.DecayBetween(water.Exactly(5), water.Exactly(0), time.Hour)
	require.True(t, ok)
	require.True(t, math.IsInf(d.High, 1))
	require.Zero(t, d.After(water.Exactly(5), time.Hour).Low)
	require.InDelta(t, 5, d.After(water.Exactly(5), 0).Low, 1e-12, "no time, no loss")
	for _, c := range []struct {
		first, second water.Reading
		elapsed       time.Duration
	}{
		{water.Exactly(2), water.Exactly(3), time.Hour},
		{water.Exactly(0), water.Exactly(0), time.Hour},
		{water.Exactly(4), water.Exactly(2), 0},
		{water.Reading{}, water.Exactly(2), time.Hour},
	} {
		_, ok := water.DecayBetween(c.first, c.second, c.elapsed)
		require.False(t, ok, "%+v", c)
	}
	soonest, latest := water.UsualDecay().Until(water.Exactly(2), 3)
	require.Zero(t, soonest, "under the floor already")
	require.Zero(t, latest)
}
