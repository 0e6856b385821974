package conversation

import (
	"tubhand/internal/tub"
	"tubhand/internal/understand"
	"tubhand/internal/water"
)

// The doses that flow files name.
const (
	flushDose       = "flush_product"
	startUpDose     = "start_up_sanitizer"
	balanceDose     = "balance"
	neutralizerDose = "neutralizer"
)

// labelDose is the flush product's label dose for this tub, in level teaspoons.
func (t *turn) labelDose() (float64, error) {
	p := t.w.shop.Flush
	rate := water.LabelRate{Teaspoons: p.Teaspoons, PerUSGal: p.PerUSGal, JarTeaspoons: p.JarTeaspoons}
	return rate.Dose(t.c.Tub.VolumeUSGal)
}

// advise works out the named dose and keeps it; false when it can't be worked out, and
// then nothing is advised. A volume that is not known never gets a dose.
func (t *turn) advise(name string) bool {
	if t.c.Tub.VolumeUSGal <= 0 {
		return false
	}
	var d Dose
	var ok bool
	switch name {
	case flushDose:
		d, ok = t.flushAdvice()
	case startUpDose:
		d, ok = t.startUpAdvice()
	case balanceDose:
		d, ok = t.balanceAdvice()
	case neutralizerDose:
		d, ok = t.neutralizerAdvice()
	}
	if !ok {
		return false
	}
	d.Name, d.USGal, d.At = name, t.c.Tub.VolumeUSGal, t.now
	d.Measure = english.measure(&d, t.c.Owner.Metric)
	put(&t.c.Service.Advised, name, d)
	t.log(LogEntry{Kind: "advised", Name: name, Dose: &d, Text: d.Measure + " of " + d.Product})
	return true
}

// added keeps that an advised dose went in. What owners put in unasked counts as well.
func (t *turn) added(name string) {
	s := t.c.Service
	d, ok := s.Advised[name]
	if !ok {
		d = Dose{Name: name, Product: t.w.shop.Flush.Name, Measure: english.unknown, Unit: unknownAmount, USGal: t.c.Tub.VolumeUSGal}
	}
	d.At = t.now
	delete(s.Advised, name)
	put(&s.Added, name, d)
	t.c.Tub.LastAddition = t.now
	if d.Chemical != "" && d.Grams > 0 {
		t.remember(Past{Chemical: d.Chemical, Grams: d.Grams})
	} else {
		t.forget() // nobody knows what it does
	}
	t.aim(d)
	if name == balanceDose || name == neutralizerDose {
		s.Rounds++
	}
	t.takeFromJar(&d)
	t.wears(&d)
	t.log(LogEntry{Kind: "added", Name: name, Dose: &d, Text: d.Measure + " of " + d.Product})
}

// aim remembers the level before a dose, so that the next test shows whether it helped.
func (t *turn) aim(d Dose) {
	q := understand.Quantity(d.Aim)
	if q == "" {
		return
	}
	_, level := bounds(t.c.Tub.Readings[q].Value)
	put(&t.c.Tub.Aimed, q, level)
}

// helped counts doses that did not help: a sanitizer that did not rise, combined chlorine
// that is still over its limit.
func (t *turn) helped(q understand.Quantity, v understand.Value) {
	before, ok := t.c.Tub.Aimed[q]
	if !ok {
		return
	}
	delete(t.c.Tub.Aimed, q)
	_, now := bounds(v)
	better := now > before
	if q == understand.CombinedChlorine {
		limit, ok := t.w.limits.Of(string(q))
		better = ok && now <= limit.Soak.High
	}
	if better {
		delete(t.c.Tub.Tried, q)
		return
	}
	put(&t.c.Tub.Tried, q, t.c.Tub.Tried[q]+1)
}

func (t *turn) flushAdvice() (Dose, bool) {
	spoons, err := t.labelDose()
	if err != nil || spoons <= 0 || t.flushProduct() == "in" {
		return Dose{}, false
	}
	return Dose{Product: t.w.shop.Flush.Name, Spoons: spoons, Amount: spoons, Unit: water.LevelTeaspoon}, true
}

// startUpAdvice doses fresh water. Bromine start-up follows the product's own label,
// since two products are needed and their strengths differ.
func (t *turn) startUpAdvice() (Dose, bool) {
	if t.sanitizer() == "bromine" {
		p, ok := t.w.shop.Products[string(water.SodiumBromide)]
		if !ok {
			return Dose{}, false
		}
		return Dose{Product: p.Name, Chemical: p.Chemical, Why: whyFreshBromide, Unit: labelAmount}, true
	}
	for _, c := range chlorines {
		p, ok := t.w.shop.Products[string(c)]
		if !ok {
			continue
		}
		w := water.Water{VolumeL: tub.Litres(t.c.Tub.VolumeUSGal), TempC: 16, TDS: water.DefaultTDS}
		d, ok := t.doseTo(p, w, water.FreeChlorine, t.startUpTarget(), whyFreshWater)
		d.Aim = string(understand.FreeChlorine)
		return d, ok
	}
	return Dose{}, false
}

// startUpTarget is what fresh water is brought to: the top of the soak band, since
// what still comes out of the lines uses some of it up. Our decision.
func (t *turn) startUpTarget() float64 {
	limit, _ := t.w.limits.Of(string(understand.FreeChlorine))
	return limit.Soak.High
}

// chlorines in the order of preference: what dissolves at once and is common for tubs.
var chlorines = [...]water.Chemical{
	water.DichlorDihydrate, water.DichlorAnhydrous, water.SodiumHypochlorite6, water.SodiumHypochlorite825,
	water.SodiumHypochlorite10, water.SodiumHypochlorite125, water.CalciumHypochlorite65,
}

// doseTo works out one product's dose to a target.
func (t *turn) doseTo(p Product, w water.Water, q water.Quantity, target float64, why string) (Dose, bool) {
	grams, _, err := water.Amount(w, water.Chemical(p.Chemical), q, target)
	if err != nil || grams <= 0 {
		return Dose{}, false
	}
	measure, grams := water.Product{Chemical: water.Chemical(p.Chemical), GramsPerTeaspoon: p.GramsPerTeaspoon}.Dispense(grams)
	if grams <= 0 {
		return Dose{}, false
	}
	return Dose{Product: p.Name, Chemical: p.Chemical, Grams: grams, Amount: measure.Quantity, Unit: measure.Unit, Why: why}, true
}

// neutralizerAdvice takes chlorine out before water goes on the ground.
func (t *turn) neutralizerAdvice() (Dose, bool) {
	level, ok := view{t}.Number("sanitizer_ppm")
	if !ok {
		return Dose{}, false
	}
	p, ok := t.w.shop.Products[string(water.Thiosulfate)]
	if !ok || t.sanitizer() == "bromine" {
		return Dose{Product: english.neutralizer, Why: whyStripShows, From: level, Unit: labelAmount}, true
	}
	w := water.Water{VolumeL: tub.Litres(t.c.Tub.VolumeUSGal), TempC: water.DefaultTempC, TDS: water.DefaultTDS, FreeChlorine: level}
	d, ok := t.doseTo(p, w, water.FreeChlorine, 0, whyStripShows)
	d.From = level
	return d, ok
}

func (t *turn) balanceAdvice() (Dose, bool) {
	p := t.plan()
	return p.dose, p.kind == planAdd
}
