package water

import "math"

// bounds are what one addition must leave true of every extreme water: each quantity
// ends inside its limits, or no further outside than it was but for a slack, and never
// in the band of a person.
type bounds struct {
	limits  [6]boundary
	rise    float64 // slack above the pH limit
	fall    float64 // slack under the pH limit
	lostTA  float64 // slack under an alkalinity that was low already
	largest float64 // change of pH
}

// boundary is one quantity's limits, and the person bounds around them.
type boundary struct {
	q         Quantity
	low, high float64
	least     float64
	most      float64
}

// bounds gives the usual bounds; a step adjusts them. What was not measured cannot be
// held to limits: for pH, which is never assumed, that does not happen.
func (p *planner) bounds() bounds {
	b := bounds{largest: mostPHStep - phMargin}
	for i, q := range [...]Quantity{PH, TotalAlkalinity, CyanuricAcid, CalciumHardness, FreeChlorine, Bromine} {
		l, _ := p.bands.of(q)
		b.limits[i] = boundary{q, l.SoakLow, l.SoakHigh, l.FixLow, l.FixHigh}
		if !p.Water.At(q).Known {
			b.limits[i] = boundary{q, 0, math.Inf(1), 0, math.Inf(1)}
		}
	}
	ph := b.of(PH)
	ph.low, ph.high = ph.low+phMargin, ph.high-phMargin
	ph.least, ph.most = ph.least+phMargin, ph.most-phMargin
	return b
}

// of gives the boundary of q to adjust.
func (b *bounds) of(q Quantity) *boundary {
	for i := range b.limits {
		if b.limits[i].q == q {
			return &b.limits[i]
		}
	}
	return &boundary{}
}

// rounding forgives what floating point leaves over.
const rounding = 1e-7

// hold says whether an extreme water stays in bounds from before to after.
func (b *bounds) hold(before, after *mixture) bool {
	if math.Abs(after.ph-before.ph) > b.largest {
		return false
	}
	from, to := before.water(0), after.water(0)
	for i := range b.limits {
		l := &b.limits[i]
		fall, rise := 0.0, 0.0
		if l.q == PH {
			fall, rise = b.fall, b.rise
		}
		was := *from.At(l.q)
		if l.q == TotalAlkalinity && was < l.low {
			fall = b.lostTA
		}
		if !l.holds(was, *to.At(l.q), fall, rise) {
			return false
		}
	}
	return true
}

// holds says whether a value that was in or out of its limits may become another.
func (l *boundary) holds(was, is, fall, rise float64) bool {
	low := math.Max(math.Min(was, l.low)-fall, math.Min(was, l.least))
	high := math.Min(math.Max(was, l.high)+rise, math.Max(was, l.most))
	return is >= low-rounding && is <= high+rounding
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
	for range 5 {
		measure, exact := product.measure(grams)
		if exact <= 0 {
			return tooSmall
		}
		if p.within(&each, exact, b) {
			p.commit(Addition{product.Chemical, exact}, measure, why)
			return added
		}
		grams = exact * 0.75
	}
	return noRoom
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

// within pours grams into every extreme water, in scratch, and checks each.
func (p *planner) within(each *effect, grams float64, b *bounds) bool {
	var s species
	for i := range p.corners {
		c := p.corners[i]
		dose := each.scaled(grams / c.now.volume)
		c.now.add(&dose)
		if c.k.settle(&c.now, &s) != nil || !b.hold(&p.corners[i].now, &c.now) {
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
	p.advice.Additions = append(p.advice.Additions, Dose{a, m, why, mixing(a.Chemical), envelope(p.corners)})
}

// span is the range of a quantity over the extreme waters now.
func (p *planner) span(q Quantity) Reading {
	var r Reading
	for i := range p.corners {
		if q == PH {
			widen(&r, p.corners[i].now.ph)
			continue
		}
		w := p.corners[i].now.water(0)
		widen(&r, *w.At(q))
	}
	return r
}
