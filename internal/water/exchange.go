package water

import (
	"fmt"
	"math"
	"time"
)

// Exchange is how fast the water trades carbon dioxide with the air: the part of its
// excess that leaves in an hour, as a rate, somewhere between Low and High.
type Exchange struct{ Low, High float64 }

// Rates of exchange: common practice, no source. They say that with the jets and their
// air on half of the excess leaves in about an hour, give or take a factor of three,
// and hardly any under a closed cover. FitExchange learns a tub's own from two tests.
func JetsOn() Exchange { return Exchange{0.2, 2} }

// Uncovered is still water with the cover off: common practice, no source.
func Uncovered() Exchange { return Exchange{0.03, 0.3} }

// Covered is a tub at rest under its cover: common practice, no source.
func Covered() Exchange { return Exchange{0.002, 0.05} }

// AerateFor gives the water after some time in the air at an exchange rate per hour.
// Alkalinity stays, carbon dioxide leaves or enters, the pH follows. Errors: as Predict,
// and *FieldError for a rate or a time that is negative or no number.
func AerateFor(w Water, elapsed time.Duration, perHour, co2 float64) (Water, error) {
	if err := w.check(false); err != nil {
		return Water{}, err
	}
	if err := checkAir(co2); err != nil {
		return Water{}, err
	}
	switch {
	case w.PH == 0:
		return Water{}, &FieldError{PH, 0, "is needed"}
	case !(perHour >= 0) || math.IsInf(perHour, 0):
		return Water{}, &FieldError{"exchange", perHour, "is no rate"}
	case elapsed < 0:
		return Water{}, &FieldError{"elapsed", elapsed.Hours(), "is negative"}
	}
	k := constantsAt(w.TempC, Wahman)
	m, err := k.mixtureOf(&w)
	if err != nil {
		return Water{}, err
	}
	if err := k.breathe(&m, elapsed.Hours()*perHour, co2); err != nil {
		return Water{}, fmt.Errorf("aerate: %w", err)
	}
	return m.water(w.TempC), nil
}

// breathe lets carbon dioxide leave for a span of rate times time, in small steps, each
// by its midpoint. Past a span of 50 the water is in equilibrium.
func (k *constants) breathe(m *mixture, span, co2 float64) error {
	span = math.Min(span, 50)
	steps := max(4, int(math.Ceil(span*4)))
	h := span / float64(steps)
	air := k.henry * co2
	var s species
	for range steps {
		if err := k.settle(m, &s); err != nil {
			return err
		}
		half := *m
		half.carbon -= h / 2 * (s.co2 - air)
		if err := k.settle(&half, &s); err != nil {
			return err
		}
		m.carbon -= h * (s.co2 - air)
	}
	return k.settle(m, &s)
}

// FitExchange gives the exchange rate per hour that takes the pH of one test to that of
// a later one with nothing added between. ok is false where no rate does: the pH went
// the other way, or past what air can do.
func FitExchange(before Water, phAfter float64, elapsed time.Duration, co2 float64) (perHour float64, ok bool) {
	end := func(rate float64) float64 {
		w, err := AerateFor(before, elapsed, rate, co2)
		if err != nil {
			return math.NaN()
		}
		return w.PH - phAfter
	}
	if elapsed <= 0 {
		return 0, false
	}
	low, high := 0.0, 40/elapsed.Hours()
	fl, fh := end(low), end(high)
	if !(fl*fh < 0) {
		return 0, false
	}
	for range 60 {
		middle := (low + high) / 2
		if end(middle)*fl > 0 {
			low = middle
		} else {
			high = middle
		}
	}
	return (low + high) / 2, true
}
