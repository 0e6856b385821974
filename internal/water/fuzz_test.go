package water_test

import (
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/water"
)

// fuzzWater builds a water from anything.
func fuzzWater(v [11]float64) water.Water {
	var w water.Water
	for i, q := range water.Quantities() {
		*w.At(q) = v[i]
	}
	return w
}

// finite fails where a number of an answer is none.
func finite(t *testing.T, w water.Water) {
	t.Helper()
	for _, q := range water.Quantities() {
		v := *w.At(q)
		require.False(t, math.IsNaN(v) || math.IsInf(v, 0), "%s of %+v", q, w)
	}
}

// legalError fails on an error that does not say what is wrong with the input.
func legalError(t *testing.T, err error) {
	t.Helper()
	var field *water.FieldError
	var grams *water.GramsError
	if errors.As(err, &field) {
		require.NotEmpty(t, field.Field)
		return
	}
	if errors.As(err, &grams) || errors.Is(err, water.ErrNoEffect) || errors.Is(err, water.ErrContradiction) {
		return
	}
	require.ErrorContains(t, err, "no pH between", "%v", err)
}

func FuzzAnyWaterIsAnsweredOrRefused(f *testing.F) {
	f.Add(1400.0, 38.0, 7.5, 100.0, 150.0, 30.0, 0.0, 500.0, 3.0, 0.0, 0.0, 20.0, uint8(7))
	f.Add(-1.0, math.NaN(), 7.5, math.Inf(1), 150.0, 30.0, 0.0, 500.0, 3.0, 0.0, 0.0, -20.0, uint8(8))
	f.Add(0.01, 60.0, 12.0, 2000.0, 10000.0, 2000.0, 500.0, 10000.0, 1000.0, 1000.0, 1000.0, 0.2, uint8(19))
	f.Fuzz(func(t *testing.T, volume, temp, ph, ta, ch, cya, borate, tds, fc, cc, br, grams float64, which uint8) {
		w := fuzzWater([11]float64{volume, temp, ph, ta, ch, cya, borate, tds, fc, cc, br})
		chemicals := water.Chemicals()
		c := chemicals[int(which)%len(chemicals)]
		if after, err := water.Predict(w, water.Addition{Chemical: c, Grams: grams}); err != nil {
			legalError(t, err)
		} else {
			finite(t, after)
			require.GreaterOrEqual(t, after.FreeChlorine, 0.0)
		}
		if got, err := water.Index(w); err != nil {
			legalError(t, err)
		} else {
			require.False(t, math.IsNaN(got.Model) || math.IsInf(got.Model, 0))
			require.False(t, math.IsNaN(got.PHs) || math.IsInf(got.PHs, 0), "%+v", w)
		}
		if got, err := water.Chlorine(w, water.Wahman); err != nil {
			legalError(t, err)
		} else {
			sum := got.HOCl + got.OCl + got.CyanurateBound
			require.InDelta(t, w.FreeChlorine, sum, 1e-6*(1+w.FreeChlorine), "%+v", w)
			require.True(t, got.HOClPercent >= 0 && got.HOClPercent <= 100.0001)
		}
		if after, err := water.Aerate(w, water.AirCO2); err != nil {
			legalError(t, err)
		} else {
			finite(t, after)
		}
		if grams, after, err := water.Amount(w, c, water.PH, 7.4); err != nil {
			legalError(t, err)
		} else {
			finite(t, after)
			require.GreaterOrEqual(t, grams, 0.0)
		}
	})
}

func FuzzAnyReadingsArePlannedOrRefused(f *testing.F) {
	f.Add(1400.0, 0.0, 7.9, 0.3, 80.0, 40.0, 150.0, 0.0, 10.0, 20.0, 1.0, 1.0, uint32(0xffff), true)
	f.Add(0.0, 0.0, math.NaN(), 0.3, -80.0, 40.0, 150.0, 0.0, math.Inf(1), 20.0, 1.0, 1.0, uint32(3), false)
	f.Fuzz(func(t *testing.T, volume, spread, ph, phStep, ta, taStep, ch, chStep, cya, cyaStep, sanitizer, step float64, hand uint32, chlorine bool) {
		r := water.Request{Sanitizer: water.ByBromine}
		r.Water.VolumeL = water.Between(volume, volume+spread)
		r.Water.PH = water.Between(ph, ph+phStep)
		r.Water.TotalAlkalinity = water.Between(ta, ta+taStep)
		r.Water.CalciumHardness = water.Between(ch, ch+chStep)
		r.Water.CyanuricAcid = water.Between(cya, cya+cyaStep)
		r.Water.Bromine = water.Between(sanitizer, sanitizer+step)
		if chlorine {
			r.Sanitizer = water.ByChlorine
			r.Water.FreeChlorine, r.Water.Bromine = r.Water.Bromine, water.Reading{}
		}
		for i, c := range water.Chemicals() {
			if hand>>i&1 == 1 {
				r.OnHand = append(r.OnHand, water.Product{Chemical: c})
			}
		}
		advice, err := water.Plan(r)
		if err != nil {
			legalError(t, err)
			return
		}
		for _, d := range advice.Additions {
			require.True(t, d.Grams > 0 && !math.IsInf(d.Grams, 0))
			finite(t, water.Water{PH: d.After.PH.High, TotalAlkalinity: d.After.TotalAlkalinity.High, FreeChlorine: d.After.FreeChlorine.High})
		}
		require.True(t, advice.DrainFraction >= 0 && advice.DrainFraction <= 1)
		if advice.Severity != water.NoSeverity {
			require.False(t, advice.Soak)
			require.Empty(t, advice.Additions)
		}
	})
}
