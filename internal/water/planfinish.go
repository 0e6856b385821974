package water

import (
	"math"
	"slices"
)

// cautionAbove is the temperature from which a soak gets the usual cautions: 100 F
// (CPSC).
const cautionAbove = (100 - 32) / 1.8

// warn says what the readings and the products on hand call for, before any dose.
func (p *planner) warn() {
	if p.band(Temperature) >= Fix {
		p.caution(TooHot, "", 0)
	}
	for _, q := range [...]Quantity{FreeChlorine, Bromine} {
		l, _ := p.bands.of(q)
		if v := p.Water.At(q); p.band(q) >= Fix && v.High > l.SoakHigh {
			p.caution(LetItFall, q, 0)
		}
	}
	if cya := p.Water.CyanuricAcid; cya.Known && cya.High > 0 && p.Sanitizer == ByChlorine {
		p.caution(NoCyanuricInTubs, "", 0)
	}
	if p.band(CombinedChlorine) == Fix {
		p.caution(BreakpointAt, "", BreakpointTarget(p.Water.CombinedChlorine.High))
	}
	p.keepApart()
}

// keepApart calls out products on hand that must never meet.
func (p *planner) keepApart() {
	_, acid := p.product(lowering()...)
	_, calHypo := p.product(CalciumHypochlorite65)
	_, dichlor := p.product(dichlors()...)
	_, chlorine := p.product(append(hypochlorites(), dichlors()...)...)
	if acid && chlorine {
		p.caution(AcidAwayFromCl, "", 0)
	}
	if calHypo && dichlor {
		p.caution(CalHypoNotDichlor, "", 0)
	}
}

// finish adds what to test again and the closing cautions.
func (p *planner) finish() {
	a := &p.advice
	if len(p.corners) > 0 {
		a.Predicted = p.ranges
		p.balanceIndex()
	}
	if len(a.Additions) > 0 {
		for _, q := range p.required()[:3] {
			p.retest(q)
		}
		if slices.ContainsFunc(a.Additions, func(d Dose) bool { return d.Why == RaiseHardness }) {
			p.retest(CalciumHardness)
		}
		if slices.ContainsFunc(a.Additions, func(d Dose) bool { return d.Why == BurnCombined }) {
			p.retest(CombinedChlorine)
		}
		p.caution(HandleWithCare, "", 0)
		if a.Soak {
			p.caution(SoakBeforeAdding, "", 0)
		}
	}
	if a.Soak {
		if p.water.TempC.High > cautionAbove {
			p.caution(HotWater, "", 0)
		}
		p.caution(ClarityUnjudged, "", 0)
	}
}

// balanceIndex warns of scaling and corroding water where it was measured in full.
func (p *planner) balanceIndex() {
	if !p.Water.CalciumHardness.Known || !p.Water.TotalAlkalinity.Known {
		return
	}
	if top, ok := p.saturation(math.Max); ok && top > mostIndex {
		p.caution(MayScale, "", top)
	}
	if bottom, ok := p.saturation(math.Min); ok && bottom < -mostIndex {
		p.caution(MayCorrode, "", bottom)
	}
}
