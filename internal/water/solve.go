package water

import (
	"errors"
	"math"
)

// The pH window of the solver. What ends outside is no tub water and is an error.
const (
	lowestPH  = 0.5
	highestPH = 13.5
)

// errNoPH is returned when no pH in the window balances the water.
var errNoPH = errors.New("no pH between 0.5 and 13.5 balances this water")

// How near is near enough: the pH, and the ionic strength as a part of itself (a ten
// millionth of it moves the pH by less than tolerancePH).
const (
	tolerancePH       = 1e-9
	toleranceStrength = 1e-7
)

// balance finds the pH at which t's forms carry t's alkalinity. guess and t.strength,
// which it renews, start the search. s receives the forms. With open other than closedToAir the water is in
// equilibrium with a dissolved CO2 of that many mol/L instead of holding its carbon,
// and t.carbon is set. A few Newton steps nearly always do; where they do not, the pH
// is bracketed and cannot escape.
func (k *constants) balance(t *totals, guess, open float64, s *species) (float64, error) {
	p := problem{medium: medium{constants: k}, t: t, s: s, open: open}
	if t.strength == 0 {
		t.strength = roughStrength(t)
	}
	p.strengthen(t.strength)
	if ph, ok := p.newton(guess); ok {
		return ph, nil
	}
	return p.bracketed(guess)
}

// newton takes steps by the slope of the last two points, bringing the ionic strength
// along. ok is false where it has not settled in time or strays.
func (p *problem) newton(ph float64) (float64, bool) {
	last, lastExcess := ph, p.excess(ph)
	slope := p.s.buffer()
	for range 14 {
		strength := p.s.strength()
		settled := math.Abs(strength-p.t.strength) <= toleranceStrength*(strength+1e-9)
		p.t.strength = strength
		p.strengthen(strength)
		move := -lastExcess / slope
		if !(math.Abs(move) < 2) {
			return 0, false
		}
		if math.Abs(move) < tolerancePH && settled {
			return last, true
		}
		ph = last + move
		if ph < lowestPH || ph > highestPH {
			return 0, false
		}
		excess := p.excess(ph)
		if rise := (excess - lastExcess) / move; math.Abs(move) > 1e-5 && rise > 0 {
			slope = rise
		}
		last, lastExcess = ph, excess
	}
	return 0, false
}

// bracketed finds the pH between bounds at an ionic strength, and again until the
// ionic strength stands still.
func (p *problem) bracketed(ph float64) (float64, error) {
	width := 0.25
	for range 40 {
		p.strengthen(p.t.strength)
		found, err := p.root(ph, width)
		if err != nil {
			return 0, err
		}
		strength := p.s.strength()
		settled := math.Abs(strength-p.t.strength) <= toleranceStrength*(strength+1e-9)
		p.t.strength, ph, width = strength, found, 2e-3
		if settled {
			break
		}
	}
	return ph, nil
}

// roughStrength starts the iteration with every ion taken as free.
func roughStrength(t *totals) float64 {
	return math.Max(0, 0.5*(t.cations+t.anions+math.Max(t.alkalinity, 0))+2*(t.calcium+t.sulfate))
}

// problem is one search for a pH at a fixed ionic strength.
type problem struct {
	medium
	t    *totals
	s    *species
	open float64
}

// excess is the alkalinity of the forms at a pH less the alkalinity there is. It
// rises with pH.
func (p *problem) excess(ph float64) float64 {
	activity := pow10(-ph)
	if p.open >= 0 {
		p.other(p.t, activity, p.s)
		forms, pairs := p.carbonate(activity)
		p.setCarbonate(p.t, &forms, &pairs, p.open/forms.co2, p.s)
		p.t.carbon = p.s.co2 + p.s.hco3 + p.s.co3 + p.s.caHCO3 + p.s.caCO3
	} else {
		p.speciate(p.t, activity, p.s)
	}
	return p.s.alkalinityOther() + p.s.alkalinityCarbonate() - p.t.alkalinity
}

// root brackets the pH around a guess and closes in on it.
func (p *problem) root(guess, width float64) (float64, error) {
	a, b := math.Max(lowestPH, guess-width), math.Min(highestPH, guess+width)
	fa, fb := p.excess(a), p.excess(b)
	for fa > 0 {
		if a <= lowestPH {
			return 0, errNoPH
		}
		b, fb = a, fa
		width *= 2
		a = math.Max(lowestPH, a-width)
		fa = p.excess(a)
	}
	for fb < 0 {
		if b >= highestPH {
			return 0, errNoPH
		}
		a, fa = b, fb
		width *= 2
		b = math.Min(highestPH, b+width)
		fb = p.excess(b)
	}
	return p.narrow(a, b, fa, fb), nil
}

// narrow closes a bracket with Chandrupatla's method (Adv. Eng. Software 28:145, 1997):
// inverse quadratic steps where they are sound, halving where not, so it always ends.
// It leaves the species of the root in p.s.
func (p *problem) narrow(a, b, fa, fb float64) float64 {
	c, fc, t := a, fa, 0.5
	if fb != fa {
		t = clamp(fa/(fa-fb), 0.05, 0.95)
	}
	for range 100 {
		x := a + t*(b-a)
		fx := p.excess(x)
		if (fx < 0) == (fa < 0) {
			c, fc = a, fa
		} else {
			c, fc = b, fb
			b, fb = a, fa
		}
		a, fa = x, fx
		limit := tolerancePH / math.Abs(b-a)
		if fx == 0 || limit > 0.5 {
			break
		}
		t = clamp(step(a, b, c, fa, fb, fc), limit, 1-limit)
	}
	if math.Abs(fb) < math.Abs(fa) {
		a = b
		p.excess(a)
	}
	return a
}

// step is the next fraction of the bracket to try.
func step(a, b, c, fa, fb, fc float64) float64 {
	xi, phi := (a-b)/(c-b), (fa-fb)/(fc-fb)
	if phi*phi < xi && (1-phi)*(1-phi) < 1-xi {
		return fa/(fb-fa)*fc/(fb-fc) + (c-a)/(b-a)*fa/(fc-fa)*fb/(fc-fb)
	}
	return 0.5
}

func clamp(x, low, high float64) float64 { return math.Max(low, math.Min(high, x)) }
