package water_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/water"
)

// randomPlans is how many waters the planner is tried on.
const randomPlans = 100_000

// TestPlanNeverGoesPast plans for random waters and pours the plan, by the model, into
// waters drawn from inside and from the corners of the readings' ranges.
func TestPlanNeverGoesPast(t *testing.T) {
	total := randomPlans
	if testing.Short() {
		total = randomPlans / 20
	}
	const shards = 8
	for shard := range shards {
		t.Run("", func(t *testing.T) {
			t.Parallel()
			rng := rand.New(rand.NewPCG(20261125, uint64(shard)))
			additions := 0
			for range total / shards {
				request := randomRequest(rng)
				advice, err := water.Plan(request)
				require.NoError(t, err, "%+v", request)
				additions += len(advice.Additions)
				if len(advice.Additions) > 0 {
					mayBeDosed(t, &request, &advice)
					for range 4 {
						pourOut(t, rng, &request, &advice)
					}
				}
			}
			require.Greater(t, additions, total/shards/4, "the waters hardly ever ask for a dose")
		})
	}
}

// randomRequest draws a tub with a mixture of exact, padded and missing readings.
func randomRequest(rng *rand.Rand) water.Request {
	r := water.Request{Sanitizer: water.ByChlorine}
	if rng.IntN(4) == 0 {
		r.Sanitizer = water.ByBromine
	}
	around := func(q water.Quantity, low, high, step float64, missing float64) {
		if rng.Float64() < missing {
			return
		}
		v := low + rng.Float64()*(high-low)
		switch rng.IntN(3) {
		case 0:
			*r.Water.At(q) = water.Exactly(v)
		case 1:
			*r.Water.At(q) = water.Between(v, v+rng.Float64()*step)
		default: // a pad of a strip
			v = math.Floor(v/step) * step
			*r.Water.At(q) = water.Between(v, v+step)
		}
	}
	around(water.Volume, 600, 2500, 150, 0.02)
	around(water.Temperature, 20, 41, 2, 0.3)
	around(water.PH, 6.5, 8.5, 0.4, 0.02)
	around(water.TotalAlkalinity, 38, 245, 40, 0.05)
	around(water.CalciumHardness, 20, 600, 50, 0.2)
	around(water.CyanuricAcid, 0, 70, 20, 0.3)
	around(water.TDS, 200, 2200, 300, 0.5)
	around(water.FreeChlorine, 0, 8, 1, 0.1)
	around(water.CombinedChlorine, 0, 0.8, 0.3, 0.3)
	if rng.IntN(5) == 0 {
		around(water.BorateB, 0, 50, 10, 0)
	}
	if r.Sanitizer == water.ByBromine {
		around(water.Bromine, 0, 9, 1, 0.1)
		r.Water.FreeChlorine = water.Reading{}
	}
	for _, c := range water.Chemicals() {
		if rng.IntN(2) == 0 {
			p := water.Product{Chemical: c}
			if rng.IntN(2) == 0 {
				p.GramsPerTeaspoon = 3 + 4*rng.Float64()
			}
			r.OnHand = append(r.OnHand, p)
		}
	}
	return r
}

// mayBeDosed holds the plan to what must be known and in bounds before any dose.
func mayBeDosed(t *testing.T, r *water.Request, a *water.Advice) {
	t.Helper()
	require.True(t, r.Water.VolumeL.Known, "a dose for an unknown volume")
	require.True(t, r.Water.PH.Known, "a dose without a pH")
	require.Equal(t, water.NoSeverity, a.Severity)
	require.NotEmpty(t, a.Retest, "a dose with nothing to test again")
	for _, v := range a.Verdicts {
		require.NotEqual(t, water.Person, v.Band, "a dose though %s is for a person", v.Quantity)
	}
	for _, d := range a.Additions {
		require.Positive(t, d.Grams)
		require.Positive(t, d.Wait)
		require.NotEmpty(t, d.Measure.String())
	}
}

// pourOut draws a water from the ranges and follows it through the plan.
func pourOut(t *testing.T, rng *rand.Rand, r *water.Request, a *water.Advice) {
	t.Helper()
	start, ok := drawWater(rng, r)
	if !ok {
		return
	}
	now := start
	for _, d := range a.Additions {
		next, err := water.Predict(now, d.Addition)
		if err != nil || math.Abs(next.PH-now.PH) > 0.3+1e-6 {
			t.Fatalf("pH from %g to %g by %s (%v) in %+v of %+v", now.PH, next.PH, d.Chemical, err, now, r.Water)
		}
		now = next
	}
	lift := 0.0
	if warned(a, water.PHMayEdgeUp) {
		lift = 0.2
	}
	within(t, r, a, water.PH, start.PH, now.PH, lift)
	within(t, r, a, water.TotalAlkalinity, start.TotalAlkalinity, now.TotalAlkalinity, 25*lift)
	within(t, r, a, water.CalciumHardness, start.CalciumHardness, now.CalciumHardness, 0)
	within(t, r, a, water.CyanuricAcid, start.CyanuricAcid, now.CyanuricAcid, 0)
	within(t, r, a, water.FreeChlorine, start.FreeChlorine, now.FreeChlorine, 0)
	within(t, r, a, water.Bromine, start.Bromine, now.Bromine, 0)
}

// within holds an end value to the limits that a corner may not pass.
func within(t *testing.T, r *water.Request, a *water.Advice, q water.Quantity, start, end, lift float64) {
	t.Helper()
	l, known := limits(q), r.Water.At(q).Known
	if !known {
		return
	}
	read := r.Water.At(q)
	low, high := math.Min(read.Low, l.SoakLow), math.Max(read.High, l.SoakHigh)+lift
	switch {
	case q == water.TotalAlkalinity && read.Low < l.SoakLow:
		low -= 6
	case q == water.PH && dosed(a, water.LowerPH, water.LowerAlkalinity):
		low = math.Min(read.Low, l.AimLow) - lift
	case q == water.PH:
		low -= math.Max(lift, 0.05)
	}
	// Plain comparisons: there are millions of them.
	const slack = 1e-6
	if end < low-slack || end > high+slack {
		t.Fatalf("%s from %g to %g, not in %g to %g, in %+v with %+v", q, start, end, low, high, r.Water, a.Additions)
	}
	if end < l.FixLow-slack || end > l.FixHigh+slack {
		t.Fatalf("%s from %g to %g, in the band of a person, in %+v with %+v", q, start, end, r.Water, a.Additions)
	}
}

func limits(q water.Quantity) water.Limits {
	b := water.DefaultBands()
	switch q {
	case water.PH:
		return b.PH
	case water.TotalAlkalinity:
		return b.TotalAlkalinity
	case water.CalciumHardness:
		return b.CalciumHardness
	case water.CyanuricAcid:
		return b.CyanuricAcid
	case water.FreeChlorine:
		return b.FreeChlorine
	}
	return b.Bromine
}

func warned(a *water.Advice, code water.CautionCode) bool {
	for _, c := range a.Cautions {
		if c.Code == code {
			return true
		}
	}
	return false
}

func dosed(a *water.Advice, reasons ...water.Why) bool {
	for _, d := range a.Additions {
		for _, w := range reasons {
			if d.Why == w {
				return true
			}
		}
	}
	return false
}

// drawWater takes a water from the ranges: half of the time a corner. What was not read
// is drawn from all that is no person's band. ok is false where the draw contradicts
// itself.
func drawWater(rng *rand.Rand, r *water.Request) (water.Water, bool) {
	corner := rng.IntN(2) == 0
	unread := map[water.Quantity][2]float64{
		water.Temperature: {20, 40}, water.TotalAlkalinity: {40, 240}, water.CalciumHardness: {0, 800},
		water.CyanuricAcid: {0, 90}, water.TDS: {500, 1500}, water.FreeChlorine: {0, 5},
	}
	if r.Sanitizer == water.ByBromine {
		delete(unread, water.FreeChlorine)
	}
	w := water.Water{TempC: water.DefaultTempC, TDS: water.DefaultTDS}
	for _, q := range water.Quantities() {
		low, high := unread[q][0], unread[q][1]
		if v := r.Water.At(q); v.Known {
			low, high = v.Low, v.High
		} else if low == high {
			continue
		}
		at := rng.Float64()
		if corner {
			at = math.Round(at)
		}
		*w.At(q) = low + at*(high-low)
	}
	if r.Sanitizer == water.ByBromine && w.Bromine == 0 {
		w.Bromine = 1e-6 // the bank's bromide, which no reading shows
	}
	_, err := water.Predict(w)
	if errors.Is(err, water.ErrContradiction) {
		return w, false
	}
	return w, err == nil
}
