package water

import (
	"math"
	"slices"
)

// hypochlorites bring chlorine without cyanuric acid, the strongest first; calcium
// hypochlorite, which adds hardness, last.
func hypochlorites() []Chemical {
	return []Chemical{
		SodiumHypochlorite125, SodiumHypochlorite10, SodiumHypochlorite825, SodiumHypochlorite6, CalciumHypochlorite65,
	}
}

func dichlors() []Chemical { return []Chemical{DichlorDihydrate, DichlorAnhydrous} }

// How far a sanitizer may take the pH past its limits, and the alkalinity past its upper
// one, where nothing else can be had: water without sanitizer is the worse of the two.
// Our decision.
const (
	sanitizerLift           = 0.2
	sanitizerLiftAlkalinity = 5
)

// leastRise is the smallest rise of a sanitizer, mg/L, worth a dose. Our decision.
const leastRise = 0.25

// sanitize raises the sanitizer.
func (p *planner) sanitize() {
	if p.Sanitizer == ByBromine {
		p.brominate()
		return
	}
	l, now := p.bands.FreeChlorine, p.Water.FreeChlorine
	cap, why := l.SoakHigh, RaiseChlorine
	rise := math.Min(middleOf(l.AimLow, l.AimHigh)-now.middle(), cap-now.High)
	if target, ok := p.breakpoint(); ok {
		cap, why = l.FixHigh, BurnCombined
		rise = target - now.High
	} else if !now.Known || now.Low >= l.SoakLow || now.High > l.SoakHigh {
		return
	}
	if rise < leastRise {
		p.tooWide(FreeChlorine)
		return
	}
	p.raise(FreeChlorine, rise, why, cap, append(hypochlorites(), dichlors()...))
}

// tooWide asks for a finer reading.
func (p *planner) tooWide(q Quantity) {
	p.caution(RangeTooWide, q, 0)
	p.caution(TestMoreFinely, q, 0)
	p.retest(q)
}

// raise tries the sources in order: strictly, then after a little acid where that makes
// room, then with some slack.
func (p *planner) raise(q Quantity, rise float64, why Why, most float64, sources []Chemical) {
	found := false
	for _, c := range sources {
		_, ok := p.product(c)
		found = found || ok
	}
	if !found {
		p.caution(NothingOnHand, q, 0)
		return
	}
	last := p.trySources(q, rise, why, most, sources, 0)
	if last == noRoom {
		before := p.snapshot()
		p.acidForRoom()
		if last = p.trySources(q, rise, why, most, sources, 0); last != added {
			p.restore(before)
		}
	}
	for _, slack := range [...]float64{0.5, 1} {
		if last == noRoom {
			last = p.trySources(q, rise, why, most, sources, slack)
		}
	}
	p.tell(last, q)
}

// trySources tries each source on hand with a part of the slack that a sanitizer may
// take.
func (p *planner) trySources(q Quantity, rise float64, why Why, most float64, sources []Chemical, slack float64) outcome {
	last := tooSmall
	for _, c := range sources {
		product, ok := p.product(c)
		if !ok {
			continue
		}
		b := p.bounds()
		b.of(q).high = math.Min(most, b.of(q).most)
		if slack > 0 {
			b.rise, b.fall = slack*sanitizerLift-phMargin, slack*sanitizerLift-phMargin
			b.of(TotalAlkalinity).high += sanitizerLiftAlkalinity
		}
		switch p.add(product, p.rising(c, q, rise)*p.middle.now.volume, why, &b) {
		case added:
			if slack > 0 {
				p.caution(PHMayEdgeUp, "", 0)
			}
			p.mentionCyanurate(c)
			return added
		case noRoom:
			last = noRoom
		}
	}
	return last
}

// acidForRoom lowers a pH that is in its limits, so that a sanitizer which lifts it can
// follow. A plan has one dose of acid.
func (p *planner) acidForRoom() {
	dosed := slices.ContainsFunc(p.advice.Additions, func(d Dose) bool { return d.Why == LowerPH || d.Why == LowerAlkalinity })
	_, onHand := p.product(lowering()...)
	if dosed || !onHand || !p.Water.TotalAlkalinity.Known || p.ranges.PH.Low < p.bands.PH.AimLow {
		return
	}
	cautions := len(p.advice.Cautions)
	p.acid(LowerPH, p.gramsToPH(p.bands.PH.AimLow+0.15))
	p.advice.Cautions = p.advice.Cautions[:cautions]
}

// rising is the grams in a litre that raise a sanitizer by mg/L; in a bromine tub
// every oxidizer makes bromine.
func (p *planner) rising(c Chemical, q Quantity, rise float64) float64 {
	if q != Bromine {
		return perLitre(c, q, rise)
	}
	e, err := perGram(c)
	if err != nil || e.chlorine+e.oxidizer == 0 {
		return 0
	}
	return rise / (1000 * massBr2 * (e.chlorine + e.oxidizer))
}

// mentionCyanurate says what a dose of dichlor leaves behind.
func (p *planner) mentionCyanurate(c Chemical) {
	e, err := perGram(c)
	if err != nil || e.cyanurate == 0 {
		return
	}
	grams := p.advice.Additions[len(p.advice.Additions)-1].Grams
	p.caution(DichlorAddsCYA, "", e.cyanurate*grams/p.middle.now.volume*1000*massCyH3)
	p.caution(NoCyanuricInTubs, "", 0)
	if !p.Water.CyanuricAcid.Known {
		p.caution(NotMeasured, CyanuricAcid, 0)
		p.retest(CyanuricAcid)
	}
}

// brominate raises bromine by letting an oxidizer work on the bromide in the water.
func (p *planner) brominate() {
	l, now := p.bands.Bromine, p.Water.Bromine
	if !now.Known || now.Low >= l.SoakLow || now.High > l.SoakHigh {
		return
	}
	rise := math.Min(middleOf(l.AimLow, l.AimHigh)-now.middle(), l.SoakHigh-now.High)
	if rise < leastRise {
		p.tooWide(Bromine)
		return
	}
	if now.High == 0 {
		p.bankBromide()
	}
	for i := range p.corners { // the bank holds bromide even where no bromine is read
		p.corners[i].now.bromine = math.Max(p.corners[i].now.bromine, traceBromine)
	}
	p.middle.now.bromine = math.Max(p.middle.now.bromine, traceBromine)
	sources := append([]Chemical{Monopersulfate}, append(hypochlorites(), dichlors()...)...)
	p.raise(Bromine, rise, RaiseBromine, l.SoakHigh, sources)
}

// traceBromine marks a bromine tub, mol/L: far below what any test reads.
const traceBromine = 1e-15

// bromideBank is the sodium bromide, mg/L, put in fresh water so that an oxidizer finds
// bromide. Common practice, no source; the label wins.
const bromideBank = 30

// bankBromide puts bromide into a water that shows no bromine.
func (p *planner) bankBromide() {
	product, ok := p.product(SodiumBromide)
	if !ok {
		p.caution(NeedsBromideBank, "", 0)
		return
	}
	b := p.bounds()
	b.rise, b.fall = sanitizerLift/2-phMargin, sanitizerLift/2-phMargin
	p.tell(p.add(product, bromideBank*p.middle.now.volume/1000, BankBromide, &b), Bromine)
}

// breakpoint is the free chlorine to go to where burning off combined chlorine was
// asked for and stays under the cap.
func (p *planner) breakpoint() (float64, bool) {
	combined, free := p.Water.CombinedChlorine, p.Water.FreeChlorine
	if !p.Breakpoint || !free.Known || p.band(CombinedChlorine) != Fix {
		return 0, false
	}
	target := BreakpointTarget(combined.High)
	return target, target <= p.bands.FreeChlorine.FixHigh && free.High < target
}

// hardness raises a low hardness with calcium chloride, once the pH is in order, and
// not past a saturation index of 0.5.
func (p *planner) hardness() {
	l, now := p.bands.CalciumHardness, p.Water.CalciumHardness
	if !now.Known || now.Low >= l.SoakLow {
		return
	}
	product, ok := p.product(CalciumChloride77, CalciumChloride100)
	if !ok {
		p.caution(NothingOnHand, CalciumHardness, 0)
		return
	}
	ph := p.ranges.PH
	if ph.Low < p.bands.PH.SoakLow || ph.High > p.bands.PH.SoakHigh {
		p.caution(RetestThenMore, CalciumHardness, 0)
		return
	}
	span := p.ranges.CalciumHardness
	rise := math.Min(middleOf(l.AimLow, l.AimHigh)-span.middle(), l.SoakHigh-span.High)
	if top, ok := p.saturation(math.Max); ok && span.High > 0 {
		rise = math.Min(rise, span.High*(pow10(mostIndex-top)-1))
	}
	if rise < 10 {
		p.caution(NoRoom, CalciumHardness, 0)
		return
	}
	b := p.bounds()
	if b.ph.low < p.bands.PH.AimLow {
		b.fall = 0.05 // calcium binds a little carbonate
	}
	p.tell(p.add(product, perLitre(product.Chemical, CalciumHardness, rise)*p.middle.now.volume, RaiseHardness, &b), CalciumHardness)
}

// mostIndex is the saturation index beyond which a water is called scaling, and minus
// it corroding: Montana ARM 37.115, older tables.
const mostIndex = 0.5

// saturation is the extreme of the saturation index over the extreme waters; ok is
// false where a water has no calcium or no carbonate.
func (p *planner) saturation(pick func(a, b float64) float64) (float64, bool) {
	var s species
	extreme, ok := 0.0, false
	for i := range p.corners {
		c := &p.corners[i]
		m := c.k.at(c.now.strength)
		m.speciate(&c.now.totals, pow10(-c.now.ph), &s)
		if !(s.ca > 0 && s.co3 > 0) {
			continue
		}
		v := math.Log10(s.ca*s.co3*m.g2*m.g2) + c.k.pkCalcite
		if !ok {
			extreme, ok = v, true
		}
		extreme = pick(extreme, v)
	}
	return extreme, ok
}
