package conversation

import (
	"math"

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

// startUpChlorine is what fresh water is brought to: the top of the soak band, since
// what still comes out of the lines uses some of it up. Our decision.
const startUpChlorine = 5.0

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
	put(&t.c.Service.Advised, name, d)
	t.log(LogEntry{Kind: "advised", Name: name, Dose: &d, Text: d.Measure + " of " + d.Product})
	return true
}

// added keeps that an advised dose went in. What owners put in unasked counts as well.
func (t *turn) added(name string) {
	s := t.c.Service
	d, ok := s.Advised[name]
	if !ok {
		d = Dose{Name: name, Product: t.w.shop.Flush.Name, Measure: "an unknown amount", USGal: t.c.Tub.VolumeUSGal}
	}
	d.At = t.now
	delete(s.Advised, name)
	put(&s.Added, name, d)
	t.c.Tub.LastAddition = t.now
	if name == balanceDose || name == neutralizerDose {
		s.Rounds++
	}
	if left, ok := t.c.Tub.JarSpoons[d.Product]; ok {
		t.c.Tub.JarSpoons[d.Product] = math.Max(0, left-d.Spoons)
	}
	t.log(LogEntry{Kind: "added", Name: name, Dose: &d, Text: d.Measure + " of " + d.Product})
}

func (t *turn) flushAdvice() (Dose, bool) {
	spoons, err := t.labelDose()
	if err != nil || spoons <= 0 || t.flushProduct() == "in" {
		return Dose{}, false
	}
	return Dose{Product: t.w.shop.Flush.Name, Spoons: spoons, Measure: spoonsText(spoons)}, true
}

// startUpAdvice doses fresh water. Bromine start-up follows the product's own label,
// since two products are needed and their strengths differ.
func (t *turn) startUpAdvice() (Dose, bool) {
	if t.sanitizer() == "bromine" {
		p, ok := t.w.shop.Products[string(water.SodiumBromide)]
		if !ok {
			return Dose{}, false
		}
		return Dose{
			Product: p.Name, Chemical: p.Chemical, Why: "Fresh water needs its bromide first.",
			Measure: "the label's amount for " + volumeText(t.c.Tub.VolumeUSGal, t.c.Owner.Metric),
		}, true
	}
	for _, c := range chlorines {
		p, ok := t.w.shop.Products[string(c)]
		if !ok {
			continue
		}
		w := water.Water{VolumeL: tub.Litres(t.c.Tub.VolumeUSGal), TempC: 16, TDS: water.DefaultTDS}
		return t.doseTo(p, w, water.FreeChlorine, startUpChlorine, "Fresh water needs sanitizer right away.")
	}
	return Dose{}, false
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
	return Dose{Product: p.Name, Chemical: p.Chemical, Grams: grams, Measure: measureText(measure, grams), Why: why}, true
}

// neutralizerAdvice takes chlorine out before water goes on the ground.
func (t *turn) neutralizerAdvice() (Dose, bool) {
	level, ok := view{t}.Number("sanitizer_ppm")
	if !ok {
		return Dose{}, false
	}
	why := "The strip shows " + number(level) + ", it should be 0."
	p, ok := t.w.shop.Products[string(water.Thiosulfate)]
	if !ok || t.sanitizer() == "bromine" {
		return Dose{
			Product: "a chlorine neutralizer", Why: why,
			Measure: "the label's amount for " + volumeText(t.c.Tub.VolumeUSGal, t.c.Owner.Metric),
		}, true
	}
	w := water.Water{VolumeL: tub.Litres(t.c.Tub.VolumeUSGal), TempC: water.DefaultTempC, TDS: water.DefaultTDS, FreeChlorine: level}
	return t.doseTo(p, w, water.FreeChlorine, 0, why)
}

func (t *turn) balanceAdvice() (Dose, bool) {
	p := t.plan()
	return p.dose, p.kind == planAdd
}

// The kinds of plan that guards ask for.
const (
	planNone   = "none"
	planAdd    = "add"
	planWait   = "wait"
	planPerson = "person"
)

// plan is what the fresh readings call for next.
type plan struct {
	kind string
	why  string
	dose Dose
}

// plan asks the chemistry for the next single step. What it can't plan for is a
// person's.
func (t *turn) plan() plan {
	tubWater := t.waterReadings()
	if t.c.Tub.VolumeUSGal <= 0 || !tubWater.PH.Known {
		return plan{kind: planNone}
	}
	advice, err := water.Plan(water.Request{
		Water: tubWater, Sanitizer: water.Sanitizer(t.sanitizer()), OnHand: t.onHand(),
	})
	switch {
	case err != nil, advice.Severity == water.PersonSoon:
		return plan{kind: planPerson}
	case len(advice.Additions) > 0:
		next := advice.Additions[0]
		p := t.w.shop.Products[string(next.Chemical)]
		why := whyText(next.Why)
		return plan{kind: planAdd, why: why, dose: Dose{
			Product: p.Name, Chemical: p.Chemical, Grams: next.Grams, Measure: measureText(next.Measure, next.Grams), Why: why,
		}}
	case advice.DrainFraction > 0:
		return plan{kind: planPerson, why: "Only fresh water helps here."}
	case advice.Soak:
		return plan{kind: planNone}
	}
	return plan{kind: planWait, why: t.summary()}
}

func (t *turn) onHand() []water.Product {
	var out []water.Product
	for _, key := range sortedKeys(t.w.shop.Products) {
		p := t.w.shop.Products[key]
		out = append(out, water.Product{Chemical: water.Chemical(p.Chemical), GramsPerTeaspoon: p.GramsPerTeaspoon})
	}
	return out
}

// waterReadings gives the chemistry the fresh readings as intervals: a strip pad has
// steps, so that a number read off it stands for its neighbourhood.
func (t *turn) waterReadings() water.Readings {
	var r water.Readings
	r.VolumeL = water.Exactly(tub.Litres(t.c.Tub.VolumeUSGal))
	for q, name := range inWater {
		m, ok := t.fresh(q)
		if !ok {
			continue
		}
		low, high := bounds(m.Value)
		if low == high {
			low, high = padStep(q, low)
		}
		*r.At(name) = water.Between(low, high)
	}
	if m, ok := t.fresh(understand.WaterTemp); ok {
		low, high := bounds(m.Value)
		r.TempC = water.Between((low-32)/1.8, (high-32)/1.8)
	}
	return r
}

// inWater maps what owners read to what the chemistry calls it.
var inWater = map[understand.Quantity]water.Quantity{
	understand.FreeChlorine: water.FreeChlorine, understand.CombinedChlorine: water.CombinedChlorine,
	understand.Bromine: water.Bromine, understand.PH: water.PH, understand.TotalAlkalinity: water.TotalAlkalinity,
	understand.CalciumHardness: water.CalciumHardness, understand.CyanuricAcid: water.CyanuricAcid, understand.TDS: water.TDS,
}

// padStep widens a number read off a strip by half a usual pad step, inside the band
// that the number itself is in. Common practice, no source.
func padStep(q understand.Quantity, v float64) (low, high float64) {
	half, floor, ceiling := 0.0, 0.0, math.Inf(1)
	switch q {
	case understand.PH:
		half, floor, ceiling = 0.2, 6.6, 8.4
	case understand.TotalAlkalinity:
		half, floor, ceiling = 20, 40, 240
	case understand.FreeChlorine, understand.Bromine:
		half, floor, ceiling = v/4, 0, 10
	}
	if v < floor || v > ceiling {
		return v, v
	}
	return math.Max(floor, v-half), math.Min(ceiling, v+half)
}

// measureText says a measure and what it weighs.
func measureText(m water.Measure, grams float64) string {
	if m.Unit == water.Gram {
		return m.String()
	}
	return m.String() + " (" + number(math.Round(grams*10)/10) + " g)"
}

// whyText says why an addition is made.
func whyText(w water.Why) string {
	switch w {
	case water.RaiseAlkalinity:
		return "The alkalinity is low."
	case water.LowerAlkalinity:
		return "The alkalinity is high."
	case water.RaisePH:
		return "The pH is low."
	case water.LowerPH:
		return "The pH is high."
	case water.RaiseChlorine:
		return "The chlorine is low."
	case water.RaiseBromine:
		return "The bromine is low."
	case water.BankBromide:
		return "The water needs bromide first."
	case water.RaiseHardness:
		return "The calcium is low."
	case water.BurnCombined:
		return "The combined chlorine is high."
	}
	return ""
}
