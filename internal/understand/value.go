package understand

import (
	"tubhand/internal/understand/words"
)

type unit uint8

const (
	noUnit unit = iota
	perMillion
	perBillion
	fahrenheit
	celsius
	degrees // of either scale
	gramsPerLitre
	gallons
	imperialGallons
	litres
	cubicMetres
	cubicFeet
	otherUnit // time, doses, money, people: never a reading
)

// amount is a number found in a text with what was said about it: tokens [from,to).
type amount struct {
	value    Value
	unit     unit
	from, to int
	bounded  bool // a range or an open end was said
	figures  string
	spelled  bool
	corrects bool // a correction stands before it
}

// amounts returns every number of the text that could be a measure, in order.
func (in *input) amounts() []amount {
	var out []amount
	for i := 0; i < len(in.tokens); {
		a, ok := in.amountAt(i)
		if !ok {
			i++
			continue
		}
		if a.unit != otherUnit {
			out = append(out, a)
		}
		i = max(a.to, i+1)
	}
	return out
}

// amountAt reads "7.4", "over 10", "7.2 to 7.6", "10+", "between 3 and 5", with its unit.
func (in *input) amountAt(i int) (amount, bool) {
	if n, open := in.comparator(i); n > 0 {
		if a, ok := in.plainAt(i + n); ok {
			a.from = i
			return openEnd(a, open), true
		}
	}
	between := in.word(i, "between", "entre", "from", "de", "tween")
	start := i
	if between {
		start++
		for in.word(start, "like", "about", "como", "somewhere") {
			start++
		}
	}
	a, ok := in.plainAt(start)
	if !ok {
		return amount{}, false
	}
	if between && a.unit == otherUnit {
		return a, true
	}
	a.from = start
	if b, ok := in.rangeEnd(a, between); ok {
		return b, true
	}
	if n, open := in.suffix(a.to); n > 0 && !a.value.Unknown {
		a.to += n
		if u, m := in.unitAt(a.to); m > 0 && a.unit == noUnit {
			a.unit, a.to = u, a.to+m
		}
		return openEnd(a, open), true
	}
	return a, true
}

func openEnd(a amount, high bool) amount {
	a.bounded = true
	if high {
		a.value = Value{Low: a.value.Low, OpenHigh: true}
	} else {
		a.value = Value{High: a.value.High, OpenLow: true}
	}
	return a
}

// plainAt reads one number and its unit.
func (in *input) plainAt(i int) (amount, bool) {
	for in.mark(i, "~=:≈") || in.word(i, "about", "around", "like", "como", "approximately", "roughly", "unos") {
		i++
	}
	if i >= len(in.tokens) || in.tokens[i].Kind != words.Number {
		return amount{}, false
	}
	t := in.tokens[i]
	a := amount{value: Value{Low: t.Value, High: t.Value}, from: i, to: i + 1, figures: t.Text, spelled: t.Spelled}
	if in.isLabel(i) {
		a.unit = otherUnit
		return a, true
	}
	if u, n := in.unitAt(i + 1); n > 0 {
		a.unit, a.to = u, i+1+n
	}
	if t.Grouped > 0 && (a.unit == litres || a.unit == gallons) {
		a.value = Value{Low: t.Grouped, High: t.Grouped}
	}
	return a, true
}

// isLabel knows numbers that name a thing: "unit 4", "step 3", "E5", "#12", "$40".
func (in *input) isLabel(i int) bool {
	if in.word(i-1, "unit", "step", "room", "cabin", "apt", "house", "lot", "site", "day", "number", "paso", "casa", "cuarto", "cabana", "unidad",
		"numero", "option", "opcion", "route", "building", "age", "page", "edad", "villa", "suite", "dia", "page", "pagina", "filter", "pump", "version") {
		return true
	}
	if in.mark(i-1, "$#€£") {
		return true
	}
	if i > 0 && in.tokens[i].Glued && in.tokens[i-1].Kind == words.Word && len(in.tokens[i-1].Text) <= 3 {
		_, isName := in.nameAt(i - 1)
		return !isName && !in.word(i-1, "x", "is", "at", "to", "de", "en", "es", "by", "por", "of", "y", "l", "w", "h", "d")
	}
	return false
}

// rangeEnd reads the second end of a range that began with a.
func (in *input) rangeEnd(a amount, between bool) (amount, bool) {
	i := a.to
	n := 0
	switch {
	case between && in.word(i, "and", "y", "to", "a", "n", "or", "o", "e"), in.word(i, "to", "thru", "through", "a", "hasta", "til"):
		n = 1
	case in.word(i, "or", "o", "maybe", "quizas", "quiza", "possibly"):
		n = 1
		if in.word(i+1, "maybe", "like", "possibly", "more") && in.number(i+2) {
			n = 2
		}
	case in.word(i, "tal", "could", "might", "puede") && in.word(i+1, "vez", "be", "que", "ser"):
		n = 2
	case in.word(i, "but", "pero") && in.word(i+1, "could", "might", "maybe", "puede", "podria") && in.word(i+2, "be", "ser"):
		n = 3
	case in.word(i, "pero", "but") && in.word(i+1, "maybe", "quizas"):
		n = 2
	case in.mark(i, "-~") && in.dashIsRange(i, between):
		n = 1
	case in.mark(i, "/") && in.slashIsRange(a, i):
		n = 1
	}
	if n == 0 {
		return amount{}, false
	}
	b, ok := in.plainAt(i + n)
	if !ok || b.unit == otherUnit && a.unit == noUnit && !in.word(i, "a", "to", "or", "-") {
		return amount{}, false
	}
	return joinEnds(a, b)
}

// joinEnds makes one range of two ends, if they can belong together.
func joinEnds(a, b amount) (amount, bool) {
	if a.unit != noUnit && b.unit != noUnit && a.unit != b.unit && b.unit != degrees && a.unit != degrees {
		return amount{}, false
	}
	low, high := a.value.Low, b.value.Low
	// "3 to 4 hundred" means 300 to 400.
	if low < 20 && high >= 200 && b.spelledHundreds() && high/100 > low {
		low *= 100
	}
	if low > high {
		low, high = high, low
	}
	if low > 0 && high/low > 12 {
		return amount{}, false
	}
	if b.unit == noUnit {
		b.unit = a.unit
	}
	return amount{value: Value{Low: low, High: high}, unit: b.unit, from: a.from, to: b.to, bounded: low != high, figures: a.figures, spelled: a.spelled}, true
}

func (a amount) spelledHundreds() bool {
	v := a.value.Low
	return v == float64(int(v/100))*100
}

// dashIsRange tells "7.2-7.6" from the dashes of a list "3-7.4-120" or "3 - 7.4 - 120".
func (in *input) dashIsRange(i int, between bool) bool {
	if between {
		return true
	}
	if !in.number(i-1) || !in.number(i+1) {
		return in.number(i+1) && in.tokens[i].Glued // a unit before the dash
	}
	tight := in.tokens[i].Glued && in.tokens[i+1].Glued
	chain, loose := 0, 0
	for j := 1; j+1 < len(in.tokens); j++ {
		if in.mark(j, "-") && in.number(j-1) && in.number(j+1) {
			chain++
			if !in.tokens[j].Glued || !in.tokens[j+1].Glued {
				loose++
			}
		}
	}
	if tight && loose > 0 {
		return true
	}
	inChain := in.mark(i-2, "-") && in.number(i-3) || in.mark(i+2, "-") && in.number(i+3)
	if inChain {
		return false
	}
	return !in.listFits()
}

// slashIsRange reads "7.2/7.4" as a range where one reading was asked for or named.
func (in *input) slashIsRange(a amount, i int) bool {
	if !in.number(i+1) || in.mark(i+2, "/") || in.mark(a.from-1, "/") || in.listFits() {
		return false
	}
	low, high := a.value.Low, in.tokens[i+1].Value
	return low > 0 && high > low && high/low < 3
}

// listFits reports whether the numbers of the text, taken one by one, are as many as
// the readings asked for.
func (in *input) listFits() bool {
	asked := len(in.ctx.AskedReadings)
	if in.ctx.Asked != AskedReadings || asked < 2 {
		return false
	}
	count := 0
	for i := range in.tokens {
		if in.number(i) {
			count++
		}
		if _, ok := in.nameAt(i); ok {
			return false
		}
	}
	return count == asked
}

// comparator knows "over", "at least", "<" and their like before a number. It returns
// how many tokens it takes and whether the high end is open.
func (in *input) comparator(i int) (int, bool) {
	switch {
	case in.mark(i, ">"):
		return 1 + btoi(in.mark(i+1, "=")), true
	case in.mark(i, "<"):
		return 1 + btoi(in.mark(i+1, "=")), false
	case in.word(i, "over", "above", "past", "exceeds", "exceeding", "beyond", "sobre", "mayor", "encima", "arriba", "pasado", "pasa"):
		return 1 + btoi(in.word(i+1, "de", "que", "a", "of")), true
	case in.word(i, "more", "greater", "higher", "mas", "bigger") && in.word(i+1, "than", "de", "que"):
		return 2, true
	case in.word(i, "at", "por", "al") && in.word(i+1, "least", "lo", "menos"):
		return 2 + btoi(in.word(i+2, "menos")), true
	case in.word(i, "minimum", "minimo"):
		return 1 + btoi(in.word(i+1, "of", "de")), true
	case in.word(i, "north") && in.word(i+1, "of"):
		return 2, true
	case in.word(i, "under", "below", "bajo", "debajo", "abajo", "menor"):
		return 1 + btoi(in.word(i+1, "de", "que", "a")), false
	case in.word(i, "less", "lower", "fewer", "menos") && in.word(i+1, "than", "de", "que"):
		return 2, false
	case in.word(i, "at") && in.word(i+1, "most"), in.word(i, "up") && in.word(i+1, "to") && !in.heats():
		return 2, false
	}
	return 0, false
}

// suffix knows "+", "or more", "o mas", "and up", "or less" after a number.
func (in *input) suffix(i int) (int, bool) {
	switch {
	case in.mark(i, "+") && !in.number(i+1):
		return 1, true
	case in.word(i, "or", "o", "and", "y") && in.word(i+1, "more", "mas", "higher", "above", "up", "over", "greater", "beyond", "arriba", "better"):
		return 2, true
	case in.word(i, "or", "o", "and", "y") && in.word(i+1, "less", "menos", "lower", "below", "under", "abajo"):
		return 2, false
	case in.word(i, "plus") && !in.number(i+1):
		return 1, true
	case in.word(i, "para") && in.word(i+1, "arriba"):
		return 2, true
	}
	return 0, false
}

func (in *input) word(i int, options ...string) bool {
	return i >= 0 && i < len(in.tokens) && in.tokens[i].IsWord(options...)
}

func (in *input) mark(i int, signs string) bool {
	return i >= 0 && i < len(in.tokens) && in.tokens[i].IsMark(signs)
}

func (in *input) number(i int) bool {
	return i >= 0 && i < len(in.tokens) && in.tokens[i].Kind == words.Number
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}
