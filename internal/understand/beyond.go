package understand

import "strings"

// beyondChart opens the high end of a number that is the last the chart can show:
// "off the chart, top square is 10", "past the last colour, that one is 425".
func (in *input) beyondChart(numbers []amount, notes []note, clause []int) []amount {
	for _, n := range notes {
		if n.sign != signBeyond || in.cannotPass(n.from) {
			continue
		}
		best, distance := -1, 12
		for k, a := range numbers {
			d := max(n.from-a.to, a.from-n.to)
			if in.otherNamed(n, a, clause) {
				continue
			}
			if a.value.OpenHigh && d < 4 {
				best = -1
				break
			}
			if d < distance && !a.bounded && in.sentenceBreaks(min(a.to, n.to), max(a.from, n.from)) <= btoi(len(numbers) == 1) {
				best, distance = k, d
			}
		}
		if best >= 0 {
			numbers[best] = openEnd(numbers[best], true)
		}
	}
	return numbers
}

// otherNamed knows "alk off the chart, hardness 250": the note speaks of another
// quantity than the number.
func (in *input) otherNamed(n note, a amount, clause []int) bool {
	named := func(from, to int) bool {
		for i := max(from, 0); i < to && i < len(in.tokens); i++ {
			if in.quantityAt(i) {
				return true
			}
		}
		return false
	}
	start := n.from
	for start > 0 && clause[start-1] == clause[n.from] {
		start--
	}
	if !named(start, n.from) {
		return false
	}
	if a.from >= n.to {
		return named(n.to, a.from+3) && clause[a.from] != clause[n.from]
	}
	if _, ok := in.nameBefore(a.from); ok && named(a.to, n.from) {
		return true // "alk 90 chlorine off the charts"
	}
	return clause[a.from] != clause[n.from]
}

// WhyContradiction is the ClarifyWhy of a test that contradicts itself.
const WhyContradiction = "more free than total chlorine"

// settle asks again about readings that contradict each other: more free than total
// chlorine, or nothing but zeros where pH is one of them.
func (f *found) settle() {
	free, hasFree := f.readings[FreeChlorine]
	total, hasTotal := f.readings[TotalChlorine]
	if hasFree && hasTotal && !free.Unknown && !total.Unknown && !total.OpenHigh && !free.OpenLow && free.Low > total.High {
		delete(f.readings, FreeChlorine)
		delete(f.readings, TotalChlorine)
		f.ask(WhyContradiction)
	}
	if f.zeroPH {
		for q, v := range f.readings {
			if v == (Value{}) {
				delete(f.readings, q)
			}
		}
	}
}

// takeOfProduct reads "how much ph down for 8.2": where pH is named only in that of a
// product, a number that can be a pH is one.
func (in *input) takeOfProduct(f *found, names []name, numbers []amount, pairs []int, notes []note) {
	if _, ok := f.readings[PH]; ok || namesInclude(names, PH) || !in.namesProductOf(PH) {
		return
	}
	at := -1
	for k, a := range numbers {
		if x := first(a.value); pairs[k] < 0 && a.unit == noUnit && x >= 6.2 && x <= 9 && !a.value.OpenLow && !a.value.OpenHigh {
			if at >= 0 {
				return
			}
			at = k
		}
	}
	if at >= 0 && (numbers[at].bounded || strings.Contains(numbers[at].figures, ".") || first(numbers[at].value) != float64(int(first(numbers[at].value)))) {
		in.store(f, PH, numbers[at])
	}
}

func (in *input) namesProductOf(q Quantity) bool {
	if q == PH && in.hasWord("acid", "acido", "muriatic", "muriatico", "bisulfate", "bisulfato") && !in.hasWord("cyanuric", "cianurico") {
		return true
	}
	for i := range in.tokens {
		if n, ok := in.nameAt(i); ok && n.quantity == q && in.word(n.to, "up", "down", "plus", "minus", "increaser", "decreaser", "reducer", "menos", "mas") {
			return true
		}
	}
	return false
}
