package water

import (
	"errors"
	"fmt"
	"math"
)

// ErrNoEffect is wrapped where a chemical does not move a quantity toward a target, or
// not far enough.
var ErrNoEffect = errors.New("this chemical cannot reach the target")

// Amount gives the grams of a chemical that bring a quantity to a target, exact by the
// model, and the water after it. Errors: *FieldError, *ChemicalError, ErrNoEffect,
// ErrContradiction.
func Amount(w Water, c Chemical, q Quantity, target float64) (float64, Water, error) {
	if err := w.check(true); err != nil {
		return 0, Water{}, err
	}
	if q == Volume || q == Temperature || w.At(q) == nil {
		return 0, Water{}, fmt.Errorf("target: %q is not a quantity that a chemical changes", string(q))
	}
	if err := checkField(q, target); err != nil {
		return 0, Water{}, fmt.Errorf("target: %w", err)
	}
	if _, err := perGram(c); err != nil {
		return 0, Water{}, err
	}
	k := constantsAt(w.TempC, Wahman)
	m, err := k.mixtureOf(&w)
	if err != nil {
		return 0, Water{}, err
	}
	seek := k.linearAmount
	if q == PH {
		seek = k.amountForPH
	}
	grams, err := seek(&m, c, q, target)
	if err != nil {
		return 0, Water{}, err
	}
	after, err := Predict(w, Addition{c, grams})
	return grams, after, err
}

// linearAmount serves the quantities that rise or fall in proportion.
func (k *constants) linearAmount(m *mixture, c Chemical, q Quantity, target float64) (float64, error) {
	now := m.water(0)
	probe := *m
	if q == Bromine && m.bromine == 0 {
		probe.bromine = 1e-30 // a bromine tub: chlorine makes bromine
	}
	const step = 1e-3 // g/L, small beside every reading
	if err := probe.pour(Addition{c, step * m.volume}); err != nil {
		return 0, err
	}
	after := probe.water(0)
	from, slope := *now.At(q), (*after.At(q)-*now.At(q))/step
	switch miss := target - from; {
	case miss == 0:
		return 0, nil
	case slope == 0 || miss/slope < 0 || miss/slope > mostGramsPerLitre:
		return 0, fmt.Errorf("%s from %g to %g with %s: %w", q, from, target, c, ErrNoEffect)
	default:
		return miss / slope * m.volume, nil
	}
}

// amountForPH brackets the grams by doubling, then bisects and interpolates on the
// model's own pH.
func (k *constants) amountForPH(m *mixture, c Chemical, q Quantity, target float64) (float64, error) {
	if m.ph == 0 {
		return 0, &FieldError{PH, 0, "is needed"}
	}
	fail := fmt.Errorf("%s from %g to %g with %s: %w", q, m.ph, target, c, ErrNoEffect)
	start := m.ph - target
	if start == 0 {
		return 0, nil
	}
	miss := func(gramsPerLitre float64) float64 {
		trial := *m
		var s species
		if trial.pour(Addition{c, gramsPerLitre * m.volume}) != nil || k.settle(&trial, &s) != nil {
			return math.NaN()
		}
		return trial.ph - target
	}
	low, high := 0.0, 1e-5
	fl, fh := start, miss(high)
	if (fh-start)*start > 0 {
		return 0, fail // away from the target from the first grain
	}
	for fh*start > 0 {
		low, fl = high, fh
		if high *= 2; high > mostGramsPerLitre {
			return 0, fail
		}
		fh = miss(high)
	}
	if math.IsNaN(fh) {
		return 0, fail
	}
	return falsePosition(miss, low, high, fl, fh) * m.volume, nil
}

// falsePosition finds the root of f in a bracket (Illinois rule).
func falsePosition(f func(float64) float64, a, b, fa, fb float64) float64 {
	for range 200 {
		x := (a*fb - b*fa) / (fb - fa)
		fx := f(x)
		if math.Abs(fx) < 1e-9 || b-a < 1e-12*b {
			return x
		}
		if fx*fa > 0 {
			a, fa, fb = x, fx, fb/2
		} else {
			b, fb, fa = x, fx, fa/2
		}
	}
	return (a + b) / 2
}
