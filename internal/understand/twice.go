package understand

import (
	"math"
)

// contradicted asks where a number without a name differs from a reading that is told.
func (in *input) contradicted(f *found, numbers []amount, pairs []int) bool {
	if in.ctx.Asked != AskedReadings {
		return false
	}
	for k, n := range pairs {
		if q, ok := in.contradicts(f.readings, numbers[k]); ok && n < 0 {
			in.twoValues(f, q, numbers[k])
			return true
		}
	}
	return false
}

// twoSources asks where two people or strips differ: "one strip said 3, the other 5".
func (in *input) twoSources(f *found, numbers []amount, pairs []int) bool {
	if !in.hasWord("other", "otra", "otro", "wife", "husband", "son", "daughter", "esposa", "esposo", "hijo", "hija", "viejo", "vieja", "abuela") || len(f.readings) == 0 {
		return false
	}
	for k, n := range pairs {
		if n >= 0 || numbers[k].unit != noUnit {
			continue
		}
		for _, q := range in.ctx.AskedReadings {
			v, ok := f.readings[q]
			if ok && !v.Unknown && fitCost(q, numbers[k]) < 1 && first(v) != first(numbers[k].value) && sameSize(v, numbers[k].value) && len(in.openFor(f, numbers[k])) == 0 {
				in.twoValues(f, q, numbers[k])
				return true
			}
		}
	}
	return false
}

// twoValues settles two values of one reading and asks in any case: of two tests in a
// row the later one counts, of two people's or two lights' both do, as the ends of a
// range where they are neighbours on a chart.
func (in *input) twoValues(f *found, q Quantity, other amount) {
	v := f.readings[q]
	delete(f.readings, q)
	switch {
	case in.retested(other):
		f.readings[q] = other.value
	case in.twoEyes() && v.Low == v.High && other.value.Low == other.value.High && sameStep(v.Low, other.value.Low):
		f.readings[q] = Value{Low: min(v.Low, other.value.Low), High: max(v.High, other.value.High)}
	}
	f.ask("two values of one reading")
}

// retested reports whether the number is led by words for a later test: "luego otra y salio 3".
func (in *input) retested(a amount) bool {
	for i := a.from - 1; i >= 0 && i >= a.from-6; i-- {
		if in.word(i, "then", "luego", "again", "now", "ahora", "ahorita", "after", "retest", "retested", "despues", "redid") {
			return true
		}
		if in.number(i) || in.mark(i, ".;") {
			return false
		}
	}
	return false
}

// twoEyes reports whether two people, or the same one in two lights, read the colours.
func (in *input) twoEyes() bool {
	return in.hasWord("wife", "husband", "son", "daughter", "kid", "esposa", "esposo", "hijo", "hija", "abuela", "abuelo", "viejo", "vieja", "senora", "nephew", "mom", "dad", "lamp", "light", "daylight", "sunlight", "luz", "sol", "glasses", "lentes", "yo")
}

// openFor lists the readings asked for that have no value yet and that a number may be.
func (in *input) openFor(f *found, a amount) []Quantity {
	var out []Quantity
	for _, q := range in.ctx.AskedReadings {
		if _, ok := f.readings[q]; !ok && fitCost(q, a) < 1 {
			out = append(out, q)
		}
	}
	return out
}

// contradicts finds the reading that a number without a name differs from: a second
// value like it is more likely than one of another quantity.
func (in *input) contradicts(told Readings, a amount) (Quantity, bool) {
	v, ok := told[PH]
	x := first(a.value)
	if !ok || v.Unknown || a.bounded || a.unit != noUnit || in.word(a.from-1, "from", "was", "de", "over", "than", "version", "to", "above", "below", "at") || in.hasWord("call") || x < 6.2 || x > 9 || x == float64(int(x)) || math.Abs(first(v)-x) < 0.01 {
		return PH, false
	}
	return PH, true
}

// tellsCourse reports whether the text tells how a reading came about over several
// tests, of which the last is now: "started 8.0, dosed, 7.8, dosed, 7.5".
func (in *input) tellsCourse() bool {
	return in.hasWord("started", "dosed", "redosed", "empezo", "empece", "retested", "first", "primero", "originally", "initially") &&
		in.hasWord("then", "dosed", "now", "luego", "finally", "ended", "ahora", "quedo", "after", "despues", "retested", "settled")
}
