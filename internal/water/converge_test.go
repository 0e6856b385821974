package water_test

import (
	"errors"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/water"
)

// kit is what a well stocked owner has.
func kit() []water.Product {
	return onHand(water.SodiumBicarbonate, water.SodiumBisulfate, water.SodiumCarbonate, water.SodiumHypochlorite10, water.CalciumChloride77)
}

// roundsToSoak follows plans, each poured out by the model and read again, until the
// water is fit. The pads of the strip have steps of that many parts of the usual ones;
// 0 reads exactly. ok is false after eight rounds.
func roundsToSoak(t *testing.T, w water.Water, step float64) (rounds int, last water.Advice, ok bool) {
	t.Helper()
	for rounds = range 9 {
		r := water.Request{Sanitizer: water.ByChlorine, OnHand: kit()}
		r.Water.VolumeL, r.Water.TempC = water.Exactly(w.VolumeL), water.Exactly(w.TempC)
		r.Water.CyanuricAcid, r.Water.CombinedChlorine = water.Exactly(w.CyanuricAcid), water.Exactly(w.CombinedChlorine)
		for q, pad := range map[water.Quantity]float64{
			water.PH: 0.2, water.TotalAlkalinity: 20, water.FreeChlorine: 0.5, water.CalciumHardness: 40,
		} {
			v, half := *w.At(q), pad*step/2
			*r.Water.At(q) = water.Between(max(0, v-half), v+half)
		}
		last = plan(t, r)
		if last.Soak || last.Severity != water.NoSeverity {
			return rounds, last, true
		}
		for _, d := range last.Additions {
			next, err := water.Predict(w, d.Addition)
			require.NoError(t, err)
			w = next
		}
		if warned(&last, water.AerateToRaise) { // an hour of jets
			next, err := water.AerateFor(w, time.Hour, 0.7, water.AirCO2)
			require.NoError(t, err)
			w = next
		}
	}
	return rounds, last, false
}

func TestPlansGetThere(t *testing.T) {
	for _, c := range []struct {
		name  string
		step  float64
		least float64 // part of the tubs that must be fit within eight rounds
	}{{"drops", 0, 0.99}, {"a fine strip", 1, 0.97}} {
		t.Run(c.name, func(t *testing.T) {
			rng := rand.New(rand.NewPCG(3, 3))
			tubs, there, sum, most := 0, 0, 0, 0
			for range 1500 {
				w := water.Water{
					VolumeL: 800 + 1500*rng.Float64(), TempC: 30 + 10*rng.Float64(), PH: 6.7 + 1.6*rng.Float64(),
					TotalAlkalinity: 45 + 135*rng.Float64(), CalciumHardness: 40 + 250*rng.Float64(),
					CyanuricAcid: 30 * rng.Float64(), TDS: 600, FreeChlorine: 3 * rng.Float64(),
				}
				if _, err := water.Predict(w); errors.Is(err, water.ErrContradiction) {
					continue
				}
				rounds, last, ok := roundsToSoak(t, w, c.step)
				if ok && !last.Soak {
					continue // a pad that touches a person's band
				}
				tubs++
				if ok {
					there++
					sum += rounds
					most = max(most, rounds)
				} else {
					t.Logf("not there: %+v: %v %v", w, last.Verdicts, codes(last))
				}
			}
			t.Logf("%d of %d tubs fit after %.1f rounds, at most %d", there, tubs, float64(sum)/float64(there), most)
			require.GreaterOrEqual(t, float64(there)/float64(tubs), c.least)
		})
	}
}
