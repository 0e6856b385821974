package conversation

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"tubhand/internal/safety"
	"tubhand/internal/understand"
	"tubhand/internal/water"
)

// sanitizerCounts is how long a sanitizer reading is held against the next one: owners
// add sanitizer on their own from one day to the next. Our decision.
const sanitizerCounts = 12 * time.Hour

// odd is what a test showed that can't be true, and how to say so.
type odd struct {
	quantities []understand.Quantity
	key        string // what the owner is told
	why        string // what staff are told
}

// oddOnes finds what can't be true in a test: more free chlorine than chlorine in all,
// or readings that neither time nor what went in since the last tests can explain. An
// unsafe reading is not argued with: it is a person's, true or not.
func (t *turn) oddOnes(known Readings) (odd, bool) {
	if contradict(known) {
		return contradiction(), true
	}
	if len(t.c.Tub.Past) == 0 || t.unsafe(known) {
		return odd{}, false
	}
	found := odd{key: "odd_reading.jump"}
	var why []string
	for _, d := range t.doubts(known) {
		found.quantities = append(found.quantities, fromWater(d.Quantity))
		why = append(why, fmt.Sprintf("%s read %s, the log leads to %s", english.name(fromWater(d.Quantity)), spanOf(d.Read), spanOf(d.Expected)))
		if d.Reason == water.MaybeBleached {
			found.key = "odd_reading.bleached"
		}
	}
	found.why = strings.Join(why, "; ")
	return found, len(why) > 0
}

// tellImpossible takes a test that contradicts itself, even where the understanding
// would ask back: asked again for ever it would never reach a person.
func (t *turn) tellImpossible(m understand.Meaning) bool {
	known := told(m.Readings)
	if !contradict(known) && m.ClarifyWhy != understand.WhyContradiction || t.now.Before(t.c.Tub.LastAddition.Add(mixes)) {
		return false
	}
	t.doubt(contradiction(), known)
	return true
}

func contradiction() odd {
	return odd{
		quantities: []understand.Quantity{understand.FreeChlorine, understand.TotalChlorine, understand.CombinedChlorine},
		key:        "odd_reading", why: "free chlorine above total",
	}
}

// unsafe tells whether readings are a person's by themselves.
func (t *turn) unsafe(known Readings) bool {
	m := safety.Measured{Values: map[string]safety.Range{}}
	for q, v := range known {
		low, high := bounds(v)
		m.Values[string(q)] = safety.Range{Low: low, High: high}
	}
	return t.w.limits.Judge(m, t.c.Tub.Sanitizer).Band == safety.Person
}

// doubts compares a test with the forecast. Whether the jets ran and the cover was off
// meanwhile is not known, so only what neither explains is doubted.
func (t *turn) doubts(known Readings) []water.Doubt {
	log, read, tub := t.history(), asRead(known), t.forecastTub()
	still, err := water.Doubts(log, tub, read, t.now)
	still = slices.DeleteFunc(still, func(d water.Doubt) bool { return !t.far(d) })
	if err != nil || len(still) == 0 || len(log) == 0 {
		return nil // what the chemistry can't follow is not held against anyone
	}
	open := t.now.Sub(log[0].At)
	aired, err := water.Doubts(append(log, water.Entry{At: t.now, JetsFor: open, Uncovered: open}), tub, read, t.now)
	if err != nil {
		return nil
	}
	var left []water.Doubt
	for _, d := range still {
		for _, also := range aired {
			if d.Quantity == also.Quantity && t.far(also) {
				left = append(left, d)
			}
		}
	}
	return left
}

// far tells whether a doubt is far outside what the forecast leaves open: a pad's step
// beyond the error that the chemistry allows already. Our decisions.
func (t *turn) far(d water.Doubt) bool {
	gap := math.Max(d.Read.Low-d.Expected.High, d.Expected.Low-d.Read.High)
	switch d.Quantity {
	case water.FreeChlorine, water.Bromine:
		if !t.readWithin(fromWater(d.Quantity), sanitizerCounts) {
			return false
		}
		return d.Reason == water.MaybeBleached || gap > math.Max(3, d.Expected.High)
	case water.PH:
		return gap > 0.6
	case water.TotalAlkalinity:
		return d.Reason == water.Contradicts || gap > 60
	case water.CyanuricAcid:
		return gap > 45
	case water.CalciumHardness:
		return gap > 250
	}
	return false
}

// readWithin tells whether the past has a reading of the quantity this young.
func (t *turn) readWithin(q understand.Quantity, age time.Duration) bool {
	for _, p := range t.c.Tub.Past {
		if v, ok := p.Read[q]; ok && !v.Unknown && t.now.Sub(p.At) <= age {
			return true
		}
	}
	return false
}

// doubt asks for another test and forgets what the doubted values were before; the
// second time a person looks at it.
func (t *turn) doubt(o odd, known Readings) {
	for _, q := range o.quantities {
		delete(t.c.Tub.Readings, q)
	}
	t.note("A test that can't be right (" + o.why + "): " + english.readings(known))
	t.c.Doubts++
	if t.c.Doubts > 1 {
		t.c.Doubts = 0
		t.handOver("odd_reading", safety.PersonSoon, true)
		t.say("person.held")
		t.c.Hold.Told = true
		return
	}
	words := t.words()
	words.Reading = upperFirst(t.tongue().readings(pick(known, o.quantities)))
	t.sayWith(o.key, words)
}

// pick takes some quantities out of readings.
func pick(r Readings, quantities []understand.Quantity) Readings {
	out := Readings{}
	for _, q := range quantities {
		if v, ok := r[q]; ok {
			out[q] = v
		}
	}
	return out
}

// fromWater names a quantity of the chemistry as owners' readings are named.
func fromWater(name water.Quantity) understand.Quantity {
	for q, n := range inWater {
		if n == name {
			return q
		}
	}
	return understand.Quantity(name)
}

func spanOf(r water.Reading) string {
	if r.Low == r.High {
		return number(r.Low)
	}
	return number(r.Low) + english.to + number(r.High)
}

// contradict finds what can't be true: more free chlorine than chlorine in all.
func contradict(r Readings) bool {
	free, okFree := r[understand.FreeChlorine]
	total, okTotal := r[understand.TotalChlorine]
	if !okFree || !okTotal || total.OpenHigh {
		return false
	}
	low, _ := bounds(free)
	_, high := bounds(total)
	return low > high
}
