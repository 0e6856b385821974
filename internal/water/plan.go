package water

import (
	"fmt"
	"slices"
)

// mostPHStep is the largest change of pH that one addition may make anywhere in the
// readings' range. Our decision.
const mostPHStep = 0.3

// phMargin is kept from every pH bound, so that what the extreme waters do not see
// stays inside: the interior of the ranges, the dissolved solids.
const phMargin = 0.015

// stepMargin is kept from the largest step, which is taken where the buffer is weakest
// and the calcium pairs count.
const stepMargin = 0.03

// Plan makes a plan from readings that may be ranges: what to add in which order, so
// that no water within the ranges ends past the far limit of any reading, no addition
// moves the pH by more than 0.3, and nothing is dosed where a reading touches the band
// of a person. Every addition is worked out, rounded down to its measure, and then
// checked by the model on every extreme water before it is returned.
//
// Order: what is unsafe first, then alkalinity, pH, sanitizer, hardness. A reading that
// was not taken is asked for; the pH is never assumed. Errors: *FieldError,
// *ChemicalError, a sanitizer that is none, bands wider than DefaultBands.
func Plan(r Request) (Advice, error) {
	p, err := newPlanner(r)
	if err != nil {
		return Advice{}, err
	}
	p.judge()
	p.dilute()
	p.warn()
	if p.advice.Severity == NoSeverity && p.mayDose() {
		p.alkalinity()
		p.acidity()
		p.settleOrUndo()
		p.sanitize()
		p.hardness()
	}
	p.finish()
	return p.advice, nil
}

// planner is a plan in the making.
type planner struct {
	Request
	bands   Bands
	water   Readings // as read, with what was not read assumed
	ranges  Readings // after the additions so far
	corners []corner
	middle  corner
	scratch []corner
	advice  Advice
}

func newPlanner(r Request) (*planner, error) {
	if err := r.Water.check(); err != nil {
		return nil, err
	}
	if r.Sanitizer != ByChlorine && r.Sanitizer != ByBromine {
		return nil, fmt.Errorf("sanitizer: %q is neither chlorine nor bromine", string(r.Sanitizer))
	}
	p := &planner{Request: r, bands: DefaultBands(), water: r.Water}
	if r.Bands != nil {
		p.bands = *r.Bands
		if err := p.bands.check(); err != nil {
			return nil, err
		}
	}
	for _, product := range r.OnHand {
		if _, err := perGram(product.Chemical); err != nil {
			return nil, err
		}
		if g := product.GramsPerTeaspoon; !(g >= 0 && g < 100) {
			return nil, &FieldError{"grams_per_teaspoon", g, "of " + string(product.Chemical) + " is outside 0 to 100"}
		}
	}
	for _, q := range chemical() {
		v := p.water.At(q)
		switch {
		case v.Known || q == PH || q == Volume:
		case q == r.Sanitizer.other():
			*v = Exactly(0)
		default:
			*v = assumed(q, &p.bands)
		}
	}
	return p, nil
}

// required are the readings that soaking depends on, for a sanitizer.
func (p *planner) required() []Quantity {
	if p.Sanitizer == ByBromine {
		return []Quantity{Bromine, PH, TotalAlkalinity}
	}
	return []Quantity{FreeChlorine, PH, TotalAlkalinity, CombinedChlorine, CyanuricAcid}
}

// judged are the quantities that are put in bands, for a sanitizer.
func (p *planner) judged() []Quantity {
	other := p.Sanitizer.other()
	return slices.DeleteFunc(judged(), func(q Quantity) bool { return q == other && !p.foreign(q) })
}

// foreign is true for a reading of the other sanitizer that is too high to be ignored.
func (p *planner) foreign(q Quantity) bool {
	l, _ := p.bands.of(q)
	v := p.Water.At(q)
	return v.Known && v.High > l.FixHigh
}

// judge puts the readings in their bands and settles whether to soak and who acts.
func (p *planner) judge() {
	p.advice.Severity, p.advice.Soak = NoSeverity, true
	for _, q := range p.judged() {
		l, _ := p.bands.of(q)
		v := Verdict{q, *p.Water.At(q), l.Judge(*p.Water.At(q))}
		p.advice.Verdicts = append(p.advice.Verdicts, v)
		switch {
		case v.Band == Person:
			p.advice.Severity, p.advice.Soak = PersonSoon, false
			p.retest(q)
		case v.Band == Fix && q != CalciumHardness:
			p.advice.Soak = false
			p.retest(q)
		case v.Band == Unmeasured && slices.Contains(p.required(), q):
			p.advice.Soak = false
			p.retest(q)
			p.caution(NotMeasured, q, 0)
		}
	}
	if p.DosesWithoutRise >= 2 {
		p.advice.Severity, p.advice.Soak = PersonSoon, false
		p.caution(SanitizerNotRising, "", 0)
	}
	if p.CombinedTreated && p.band(CombinedChlorine) == Fix {
		p.advice.Severity, p.advice.Soak = PersonSoon, false
		p.caution(CombinedPersists, "", 0)
	}
}

// band is the verdict on q.
func (p *planner) band(q Quantity) Band {
	for _, v := range p.advice.Verdicts {
		if v.Quantity == q {
			return v.Band
		}
	}
	return Unmeasured
}

// mayDose says whether there is enough to dose by, and prepares the corners.
func (p *planner) mayDose() bool {
	if !p.Water.VolumeL.Known {
		p.caution(VolumeUnknown, "", 0)
		return false
	}
	return p.Water.PH.Known && p.prepare()
}

// prepare solves the extreme waters and the middle one, as read.
func (p *planner) prepare() bool {
	for _, q := range chemical() {
		*p.water.At(q) = p.water.At(q).clipped(q)
	}
	p.ranges = p.water
	p.corners = corners(&p.water)
	middle := p.water
	for _, q := range chemical() {
		v := middle.At(q)
		*v = Exactly(v.middle())
	}
	middle.VolumeL = Exactly(p.water.VolumeL.Low) // doses are for the smallest tub it may be
	centre := corners(&middle)
	if len(p.corners) == 0 || len(centre) == 0 {
		p.advice.Soak = false
		p.caution(ReadingsContradict, "", 0)
		for _, q := range p.required() {
			p.retest(q)
		}
		return false
	}
	p.middle = centre[0]
	p.scratch = make([]corner, len(p.corners))
	return true
}

// snapshot is a plan as far as it has come, to go back to.
type snapshot struct {
	corners             []corner
	middle              corner
	ranges              Readings
	additions, cautions int
}

func (p *planner) snapshot() snapshot {
	return snapshot{slices.Clone(p.corners), p.middle, p.ranges, len(p.advice.Additions), len(p.advice.Cautions)}
}

func (p *planner) restore(s snapshot) {
	p.corners, p.middle, p.ranges = s.corners, s.middle, s.ranges
	p.advice.Additions = p.advice.Additions[:s.additions]
	p.advice.Cautions = p.advice.Cautions[:s.cautions]
}

// retest asks for q to be tested again, once.
func (p *planner) retest(q Quantity) {
	if !slices.Contains(p.advice.Retest, q) {
		p.advice.Retest = append(p.advice.Retest, q)
	}
}

// caution adds a caution, once.
func (p *planner) caution(code CautionCode, q Quantity, value float64) {
	c := Caution{code, q, value}
	if !slices.Contains(p.advice.Cautions, c) {
		p.advice.Cautions = append(p.advice.Cautions, c)
	}
}

// product finds the first of the wanted chemicals that is on hand.
func (p *planner) product(wanted ...Chemical) (Product, bool) {
	for _, c := range wanted {
		for _, have := range p.OnHand {
			if have.Chemical == c {
				return have, true
			}
		}
	}
	return Product{}, false
}
