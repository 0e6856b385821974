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
	if q == Bromine && m.bromine == 0 {
		m.bromine = traceBromine // a bromine tub: an oxidizer makes bromine
	}
	seek := k.linearAmount
	if q == PH {
		seek = k.amountForPH
	}
	grams, err := seek(&m, c, q, target)
	if err != nil {
		return 0, Water{}, err
	}
	if err := m.pour(Addition{c, grams}); err != nil {
		return 0, Water{}, err
	}
	var s species
	if err := k.settle(&m, &s); err != nil {
		return 0, Water{}, fmt.Errorf("%s to %g with %s: %w", q, target, c, err)
	}
	return grams, m.water(w.TempC), nil
}

// linearAmount serves the quantities that rise or fall in proportion.
func (k *constants) linearAmount(m *mixture, c Chemical, q Quantity, target float64) (float64, error) {
	now := m.water(0)
	probe := *m
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

// amountForPH steps by the slope of the model's pH, kept inside a bracket that is found
// by doubling.
func (k *constants) amountForPH(m *mixture, c Chemical, q Quantity, target float64) (float64, error) {
	if m.ph == 0 {
		return 0, &FieldError{PH, 0, "is needed"}
	}
	if m.ph == target {
		return 0, nil
	}
	e, err := perGram(c)
	if err != nil {
		return 0, err
	}
	grams, ok := k.seekPH(m, &e, target)
	if !ok {
		return 0, fmt.Errorf("%s from %g to %g with %s: %w", q, m.ph, target, c, ErrNoEffect)
	}
	return grams * m.volume, nil
}

// missPH is how far above a target the pH is after some grams in a litre; NaN where it
// leaves the solver's window.
func (k *constants) missPH(m *mixture, e *effect, grams, target float64) float64 {
	trial := *m
	dose := e.scaled(grams)
	trial.add(&dose)
	var s species
	if k.settle(&trial, &s) != nil {
		return math.NaN()
	}
	return trial.ph - target
}

// seekPH finds the grams in a litre that bring the pH to a target. ok is false where
// the first grain leads away from it or no bearable amount reaches it.
func (k *constants) seekPH(m *mixture, e *effect, target float64) (float64, bool) {
	const firstGrain = 1e-5
	low, high := 0.0, firstGrain
	fl, fh := m.ph-target, k.missPH(m, e, firstGrain, target)
	if !((fh-fl)*fl < 0) {
		return 0, false
	}
	// A secant through the first grain says about where the target lies.
	if jump := -fl * firstGrain / (fh - fl); fh*fl > 0 && jump < mostGramsPerLitre {
		low, fl = high, fh
		high = math.Max(jump, 2*firstGrain)
		fh = k.missPH(m, e, high, target)
	}
	for !(fh*fl <= 0) {
		low, fl = high, fh
		if high *= 1.5; math.IsNaN(fh) || high > mostGramsPerLitre {
			return 0, false
		}
		fh = k.missPH(m, e, high, target)
	}
	for range 100 { // regula falsi, Illinois rule
		x := (low*fh - high*fl) / (fh - fl)
		fx := k.missPH(m, e, x, target)
		switch {
		case math.Abs(fx) < 1e-8 || high-low < 1e-12*high:
			return x, true
		case fx*fl > 0:
			low, fl, fh = x, fx, fh/2
		default:
			high, fh, fl = x, fx, fl/2
		}
	}
	return (low + high) / 2, true
}
