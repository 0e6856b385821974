package water

import (
	"math"
	"slices"
)

// mostSolidsRise is the rise of dissolved solids over the fill water at which a spa is
// drained: Maine 10-144 CMR ch. 202 App. B; Montana ARM 37.115.
const mostSolidsRise = 1500

// dilute works out how much water to replace where nothing else brings a reading down.
func (p *planner) dilute() {
	fill := Water{TDS: DefaultTDS}
	if p.Fill != nil {
		fill = *p.Fill
	}
	for _, q := range [...]Quantity{CyanuricAcid, CalciumHardness, CombinedChlorine} {
		now := p.Water.At(q)
		l, _ := p.bands.of(q)
		if !now.Known || now.High <= l.SoakHigh || !slices.Contains(p.judged(), q) || !p.onlyByDilution(q) {
			continue
		}
		p.replace(q, DrainFraction(now.clipped(q).High, l.AimHigh, *fill.At(q)))
	}
	if solids := p.Water.TDS; solids.Known && DrainDueByTDS(fill.TDS, solids.Low) {
		p.caution(PlanDrain, TDS, 0)
		p.advice.DrainFraction = 1
	}
}

// onlyByDilution tells whether nothing else lowers q: combined chlorine can be burnt
// off while the free chlorine that takes is allowed.
func (p *planner) onlyByDilution(q Quantity) bool {
	if q != CombinedChlorine {
		return true
	}
	return p.CombinedTreated || BreakpointTarget(p.Water.CombinedChlorine.High) > p.bands.FreeChlorine.FixHigh
}

// replace asks for a part of the water to be replaced because of q.
func (p *planner) replace(q Quantity, fraction float64) {
	code := PlanDrain
	if p.band(q) == Person {
		code = DrainFirst
	}
	p.caution(code, q, 0)
	p.advice.DrainFraction = math.Max(p.advice.DrainFraction, fraction)
}

// DrainFraction is the part of the water to replace so that a quantity falls from now
// to target when the fill water has some of it too: rounded up to a hundredth, 1 where
// even a full change cannot reach it, 0 where nothing needs to be done.
func DrainFraction(now, target, fill float64) float64 {
	switch {
	case !(now > target):
		return 0
	case !(fill < target):
		return 1
	}
	return math.Min(1, math.Ceil((now-target)/(now-fill)*100-1e-9)/100)
}

// DrainDueByTDS tells whether the dissolved solids, mg/L, have risen over those of the
// fill water by what a spa is drained at (1,500; Maine 10-144 CMR ch. 202 App. B).
func DrainDueByTDS(fill, now float64) bool { return now-fill >= mostSolidsRise }

// ReplacementDays is how many days the water lasts for so many bathers a day: US
// gallons / 3 / bathers (Maine 10-144 CMR ch. 202 App. B; Montana; Anchorage). It is
// +Inf without bathers.
func ReplacementDays(usGal, bathersPerDay float64) float64 { return usGal / 3 / bathersPerDay }
