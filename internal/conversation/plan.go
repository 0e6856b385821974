package conversation

import (
	"math"

	"tubhand/internal/safety"
	"tubhand/internal/tub"
	"tubhand/internal/understand"
	"tubhand/internal/water"
)

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
		Water: tubWater, Sanitizer: water.Sanitizer(t.sanitizer()), OnHand: t.onHand(), Bands: t.w.bands,
		DosesWithoutRise: t.c.Tub.Tried[t.sanitizerQuantity()],
		CombinedTreated:  t.c.Tub.Tried[understand.CombinedChlorine] > 0,
		Breakpoint:       t.combinedHigh(),
	})
	switch {
	case err != nil, advice.Severity == water.PersonSoon:
		return plan{kind: planPerson}
	case len(advice.Additions) > 0:
		next := advice.Additions[0]
		p := t.w.shop.Products[string(next.Chemical)]
		return plan{kind: planAdd, dose: Dose{
			Product: p.Name, Chemical: p.Chemical, Grams: next.Grams, Amount: next.Measure.Quantity, Unit: next.Measure.Unit,
			Why: string(next.Why), Aim: string(t.aimOf(next.Why)),
		}}
	case advice.DrainFraction > 0:
		return plan{kind: planPerson} // only fresh water helps
	case advice.Soak:
		return plan{kind: planNone}
	}
	return plan{kind: planWait}
}

// combinedHigh tells whether the combined chlorine is to be burnt off: over what may be
// soaked in, and not treated in vain yet.
func (t *turn) combinedHigh() bool {
	limit, ok := t.w.limits.Of(safety.CombinedChlorine)
	m, fresh := t.fresh(understand.CombinedChlorine)
	return ok && fresh && m.Value.Low > limit.Soak.High && t.c.Tub.Tried[understand.CombinedChlorine] == 0
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
			low, high = t.padStep(q, low)
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
func (t *turn) padStep(q understand.Quantity, v float64) (low, high float64) {
	half, floor, ceiling := 0.0, 0.0, math.Inf(1)
	if limit, ok := t.w.limits.Of(string(q)); ok {
		floor, ceiling = math.Max(0, limit.Fix.Low), limit.Fix.High
	}
	switch q {
	case understand.PH:
		half = 0.2
	case understand.TotalAlkalinity:
		half = 20
	case understand.FreeChlorine, understand.Bromine:
		half = v / 4
	}
	if v < floor || v > ceiling {
		return v, v
	}
	return math.Max(floor, v-half), math.Min(ceiling, v+half)
}

// aimOf is the quantity whose next test shows whether the addition helped.
func (t *turn) aimOf(w water.Why) understand.Quantity {
	switch w {
	case water.RaiseChlorine, water.RaiseBromine:
		return t.sanitizerQuantity()
	case water.BurnCombined:
		return understand.CombinedChlorine
	}
	return ""
}
