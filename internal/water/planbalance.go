package water

import (
	"math"
	"slices"
)

// phLift is how far alkalinity may lift the pH over its limit where acid is on hand to
// bring it back in the same plan.
const phLift = 0.1

// lowering are the acids an owner may have, the one that splashes less first. Pure
// hydrochloric acid and lye are laboratory reagents and are never advised.
func lowering() []Chemical { return []Chemical{SodiumBisulfate, MuriaticAcid3145} }

// perLitre is grams in a litre for a rise of a linear quantity by mg/L.
func perLitre(c Chemical, q Quantity, rise float64) float64 {
	e, err := perGram(c)
	if err != nil {
		return 0
	}
	var m mixture
	m.add(&e)
	w := m.water(0)
	if slope := *w.At(q); slope != 0 {
		return rise / slope
	}
	return 0
}

// alkalinity raises a low alkalinity with bicarbonate. It also makes room for an acid
// that is about to take some.
func (p *planner) alkalinity() {
	l := p.bands.TotalAlkalinity
	now, ph := p.ranges.TotalAlkalinity, p.ranges.PH
	_, hasAcid := p.product(lowering()...)
	roomForAcid := hasAcid && ph.High > p.bands.PH.SoakHigh && now.Low < l.SoakLow+10
	if !p.Water.TotalAlkalinity.Known || (now.Low >= l.SoakLow && !roomForAcid) {
		return
	}
	product, ok := p.product(SodiumBicarbonate)
	if !ok {
		if now.Low < l.SoakLow {
			p.caution(NothingOnHand, TotalAlkalinity, 0)
		}
		return
	}
	rise := math.Min((l.AimLow+l.AimHigh)/2-now.middle(), l.SoakHigh-now.High)
	if rise < 1 {
		p.caution(RangeTooWide, TotalAlkalinity, 0)
		return
	}
	b := p.bounds()
	if hasAcid {
		b.rise = phLift
	}
	grams := perLitre(product.Chemical, TotalAlkalinity, rise) * p.middle.now.volume
	p.tell(p.add(product, grams, RaiseAlkalinity, &b), TotalAlkalinity)
}

// acidity brings the pH toward the middle of its aim, or a high alkalinity down with
// acid as far as the pH allows.
func (p *planner) acidity() {
	l := p.bands.PH
	ph, alkalinity := p.ranges.PH, p.ranges.TotalAlkalinity
	high, low := ph.High > l.SoakHigh, ph.Low < l.AimLow
	switch {
	case high && low:
		p.caution(RangeTooWide, PH, 0)
		p.caution(TestMoreFinely, PH, 0)
		p.retest(PH)
	case !p.Water.TotalAlkalinity.Known && (high || low):
		// The buffer is not known: no dose, the alkalinity is asked for already.
	case high:
		p.acid(LowerPH, p.gramsToPH(middleOf(l.AimLow, l.AimHigh)))
	case low:
		p.base()
	case alkalinity.High > p.bands.TotalAlkalinity.SoakHigh && p.Water.TotalAlkalinity.Known:
		p.lowerAlkalinity(alkalinity)
	}
}

func middleOf(a, b float64) float64 { return (a + b) / 2 }

// leastRoom is the pH above its lower limit from which acid for the alkalinity is worth
// a dose; below, the jets must lift the pH first.
const leastRoom = 0.1

// lowerAlkalinity takes acid for a high alkalinity; the jets then bring the pH back.
func (p *planner) lowerAlkalinity(now Reading) {
	if p.ranges.PH.Low < p.bands.PH.AimLow+leastRoom {
		p.caution(AerateToRaise, "", 0)
		return
	}
	target := p.bands.TotalAlkalinity.AimHigh
	p.acid(LowerAlkalinity, func(product Product) float64 {
		return -perLitre(product.Chemical, TotalAlkalinity, now.middle()-target) * p.middle.now.volume
	})
	p.caution(AerateToRaise, "", 0)
}

// gramsToPH works out the grams that bring the middle water to a pH.
func (p *planner) gramsToPH(target float64) func(Product) float64 {
	return func(product Product) float64 {
		e, err := perGram(product.Chemical)
		if err != nil {
			return 0
		}
		return p.middle.gramsForPH(&e, target) * p.middle.now.volume
	}
}

// acid adds acid: as much as wanted, at most what the most sensitive extreme water
// bears.
func (p *planner) acid(why Why, wanted func(Product) float64) {
	of := PH
	if why == LowerAlkalinity {
		of = TotalAlkalinity
	}
	product, ok := p.product(lowering()...)
	if !ok {
		p.caution(NothingOnHand, of, 0)
		return
	}
	b := p.bounds()
	b.ph.low = p.bands.PH.AimLow + phMargin
	most := p.mostGrams(product, func(c *corner) float64 {
		return math.Max(b.ph.low, c.now.ph-b.largest)
	})
	p.step(product, wanted(product), most, why, &b, of)
}

// base raises the pH: with soda ash where the alkalinity has room, else borax, else
// bicarbonate.
func (p *planner) base() {
	p.caution(AerateToRaise, "", 0)
	wanted := []Chemical{SodiumCarbonate, Borax, SodiumBicarbonate}
	if p.ranges.TotalAlkalinity.High > p.bands.TotalAlkalinity.AimHigh {
		wanted = []Chemical{Borax, SodiumCarbonate}
	}
	product, ok := p.product(wanted...)
	if !ok {
		if p.ranges.PH.Low < p.bands.PH.SoakLow {
			p.caution(NothingOnHand, PH, 0)
		}
		return
	}
	b := p.bounds()
	most := p.mostGrams(product, func(c *corner) float64 {
		return math.Min(b.ph.high, c.now.ph+b.largest)
	})
	l := p.bands.PH
	p.step(product, p.gramsToPH(middleOf(l.AimLow, l.AimHigh))(product), most, RaisePH, &b, PH)
}

// step adds the lesser of what is wanted and what is bearable, and says when more steps
// or a finer test are needed.
func (p *planner) step(product Product, wanted, most float64, why Why, b *bounds, of Quantity) {
	if most <= 0 {
		p.caution(RangeTooWide, of, 0)
		p.caution(TestMoreFinely, of, 0)
		p.retest(of)
		return
	}
	if wanted > most {
		p.caution(RetestThenMore, of, 0)
	}
	p.tell(p.add(product, math.Min(wanted, most), why, b), of)
}

// mostGrams is the least, over the extreme waters, of the grams that bring one to the
// pH that it may go to.
func (p *planner) mostGrams(product Product, to func(*corner) float64) float64 {
	e, err := perGram(product.Chemical)
	if err != nil {
		return 0
	}
	most := math.Inf(1)
	for i := range p.corners {
		c := &p.corners[i]
		target := to(c)
		toward := (target - c.now.ph) * e.direction()
		if toward <= 0 {
			return 0
		}
		most = math.Min(most, c.gramsForPH(&e, target)*c.now.volume)
	}
	return math.Max(most, 0)
}

// direction is the sign of the pH change a chemical is used for.
func (e *effect) direction() float64 {
	if e.alkalinity < 0 {
		return -1
	}
	return 1
}

// settleOrUndo takes the additions so far back where the alkalinity lifted the pH and
// the acid did not bring it back, and does the pH alone.
func (p *planner) settleOrUndo() {
	lifted := slices.ContainsFunc(p.corners, func(c corner) bool {
		return c.now.ph > math.Max(p.bands.PH.SoakHigh, c.start)+rounding
	})
	if !lifted {
		return
	}
	p.advice.Additions = nil
	if p.prepare() {
		p.caution(NoRoom, TotalAlkalinity, 0)
		p.acidity()
	}
}
