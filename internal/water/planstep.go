package water

import (
	"math"
	"slices"
)

// bounds are what one addition must leave true of every water in the ranges: each
// quantity ends inside its limits, or no further outside than it was but for a slack,
// and never in the band of a person.
type bounds struct {
	ph         boundary
	linear     [5]boundary // what rises and falls in proportion to the dose
	largest    float64     // change of pH
	rise, fall float64     // slack of the pH above and under its limits
}

// boundary is one quantity's limits, and the person bounds around them.
type boundary struct {
	q           Quantity
	low, high   float64
	least, most float64
}

// bounds gives the usual bounds; a step adjusts them. What was not measured cannot be
// held to limits; the pH, which is never assumed, always is.
func (p *planner) bounds() bounds {
	b := bounds{largest: mostPHStep - stepMargin}
	for i, q := range [...]Quantity{TotalAlkalinity, CyanuricAcid, CalciumHardness, FreeChlorine, Bromine} {
		l, _ := p.bands.of(q)
		b.linear[i] = boundary{q, l.SoakLow, l.SoakHigh, l.FixLow, l.FixHigh}
		if !p.Water.At(q).Known {
			b.linear[i] = boundary{q, 0, math.Inf(1), 0, math.Inf(1)}
		}
	}
	l := &p.bands.PH
	b.ph = boundary{PH, l.SoakLow + phMargin, l.SoakHigh - phMargin, l.FixLow + phMargin, l.FixHigh - phMargin}
	if slices.ContainsFunc(p.advice.Additions, func(d Dose) bool { return d.Why == LowerPH || d.Why == LowerAlkalinity }) {
		b.ph.low = l.AimLow + phMargin // what comes after acid may not carry it past
	}
	return b
}

// of gives the boundary of a linear quantity to adjust.
func (b *bounds) of(q Quantity) *boundary {
	for i := range b.linear {
		if b.linear[i].q == q {
			return &b.linear[i]
		}
	}
	return &boundary{}
}

// rounding forgives what floating point leaves over.
const rounding = 1e-7

// holds says whether a value that was in or out of its limits may become another.
func (l *boundary) holds(was, is, fall, rise float64) bool {
	low := math.Max(math.Min(was, l.low)-fall, math.Min(was, l.least))
	high := math.Min(math.Max(was, l.high)+rise, math.Max(was, l.most))
	return is >= low-rounding && is <= high+rounding
}

// lostAlkalinity is how far acid may take an alkalinity that is low already, mg/L.
const lostAlkalinity = 5

// holdLinear says whether the ranges of the linear quantities stay in bounds.
func (b *bounds) holdLinear(before, after *Readings) bool {
	for i := range b.linear {
		l := &b.linear[i]
		was, is, fall := before.At(l.q), after.At(l.q), 0.0
		if l.q == TotalAlkalinity && was.Low < l.low {
			fall = lostAlkalinity
		}
		if !l.holds(was.Low, is.Low, fall, 0) || !l.holds(was.High, is.High, fall, 0) {
			return false
		}
	}
	return true
}

// holdPH says whether the pH of one water stays in bounds.
func (b *bounds) holdPH(was, is float64) bool {
	return math.Abs(is-was) <= b.largest && b.ph.holds(was, is, b.fall, b.rise)
}

// outcome is how an attempt to add something ended.
type outcome int

const (
	added outcome = iota
	tooSmall
	noRoom
)

// add tries an addition of at most so many grams: rounded down to its measure, and made
// smaller while an extreme water leaves its bounds.
func (p *planner) add(product Product, grams float64, why Why, b *bounds) outcome {
	each, err := perGram(product.Chemical)
	if err != nil || !(grams > 0) {
		return tooSmall
	}
	failed := tooSmall
	for range 5 {
		measure, exact := product.measure(grams)
		if exact <= 0 {
			return failed
		}
		next := p.shifted(&each, exact)
		if b.holdLinear(&p.ranges, &next) && p.within(&each, exact, b) {
			p.ranges = next
			p.commit(Addition{product.Chemical, exact}, measure, why)
			return added
		}
		grams, failed = exact*0.75, noRoom
	}
	return noRoom
}

// shifted are the ranges after a dose: in the smallest tub it does most.
func (p *planner) shifted(each *effect, grams float64) Readings {
	next := p.ranges
	before := p.middle.now
	after := before
	e := *each
	after.add(&e)
	from, to := before.water(0), after.water(0)
	for _, q := range [...]Quantity{TotalAlkalinity, CalciumHardness, CyanuricAcid, BorateB, TDS, FreeChlorine, CombinedChlorine, Bromine} {
		r := next.At(q)
		most := (*to.At(q) - *from.At(q)) * grams / p.water.VolumeL.Low
		least := most * p.water.VolumeL.Low / p.water.VolumeL.High
		r.Low, r.High = r.Low+math.Min(most, least), r.High+math.Max(most, least)
	}
	return next
}

// tell turns an attempt that added nothing into a caution about a quantity.
func (p *planner) tell(o outcome, of Quantity) {
	switch o {
	case tooSmall:
		p.caution(TooSmallToMeasure, of, 0)
	case noRoom:
		p.caution(NoRoom, of, 0)
	}
}

// within pours grams into every extreme water, in scratch, and checks each pH.
func (p *planner) within(each *effect, grams float64, b *bounds) bool {
	var s species
	for i := range p.corners {
		c := p.corners[i]
		dose := each.scaled(grams / c.now.volume)
		c.now.add(&dose)
		if c.k.settle(&c.now, &s) != nil || !b.holdPH(p.corners[i].now.ph, c.now.ph) {
			return false
		}
		p.scratch[i] = c
	}
	return true
}

// commit makes the scratch waters the present ones and writes the dose down.
func (p *planner) commit(a Addition, m Measure, why Why) {
	p.corners, p.scratch = p.scratch, p.corners
	if each, err := perGram(a.Chemical); err == nil {
		var s species
		dose := each.scaled(a.Grams / p.middle.now.volume)
		p.middle.now.add(&dose)
		if p.middle.k.settle(&p.middle.now, &s) != nil {
			p.middle.now.ph = p.middle.start
		}
	}
	p.ranges.PH = p.spanPH()
	p.advice.Additions = append(p.advice.Additions, Dose{a, m, why, mixing(a.Chemical), p.ranges})
}

// spanPH is the range of the pH over the extreme waters now.
func (p *planner) spanPH() Reading {
	var r Reading
	for i := range p.corners {
		widen(&r, p.corners[i].now.ph)
	}
	return r
}
