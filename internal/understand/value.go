package understand

import (
	"math"

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
	perHundred    // percent, of salt
	frenchDegrees // of hardness
	germanDegrees
	grainsPerGallon
	gallons
	imperialGallons
	litres
	hectolitres
	poundsOfWater
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
	grouped  float64 // what it says if its point groups thousands, or 0
	unclear  bool    // a number was said, but which cannot be told
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
			out = in.appendAmount(out, a)
		}
		i = max(a.to, i+1)
	}
	return in.withoutAsides(in.withoutFactors(in.joinDigits(out)))
}

// amountAt reads "7.4", "over 10", "7.2 to 7.6", "10+", "between 3 and 5", with its unit.
func (in *input) amountAt(i int) (amount, bool) {
	if n, open := in.comparator(i); n > 0 {
		if a, ok := in.plainAt(i + n); ok {
			a.from = i
			if in.cannotPass(i) {
				return a, true
			}
			return openEnd(a, open), true
		}
	}
	between := in.word(i, "between", "entre", "from", "de", "tween")
	start := i
	if between {
		start++
		for in.word(start, "like", "about", "como", "somewhere", "the", "los", "el") {
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
		return in.rangeOrChange(i, a, b, between), true
	}
	if b, ok := in.plusMinus(a); ok {
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

// rangeOrChange tells a range from how a value changed, of which the last is now.
func (in *input) rangeOrChange(i int, a, b amount, between bool) amount {
	last, ok := in.plainAt(b.to - 1)
	switch {
	case between && in.isWish(i):
		b.unit = otherUnit
	case between && in.isChange(i):
		b.value.Low = b.value.High
		if ok {
			b.value, b.from, b.bounded = last.value, last.from, false
		}
	case between, !ok:
	case in.heats() && in.word(b.to, "in", "over", "en") && in.changesInTime(b.to+1), // "84 to 99 in four hours"
		in.word(a.to, "to", "a", "down") && in.fallsTo(a, b): // "5 to 0"
		return last
	}
	return b
}

// fallsTo reports whether "a to b" tells how a value fell, of which b is now.
func (in *input) fallsTo(a, b amount) bool {
	return b.bounded && a.value.Low > b.value.Low && in.hasWord("disappears", "disappeared", "drops", "dropped", "falls", "fell", "goes", "went", "bajo", "baja", "cayo", "gone", "vanishes", "vanished", "burns", "burned")
}

// cannotPass knows "won't go past 98" and "can't drop it below 107": the value is right there.
func (in *input) cannotPass(i int) bool {
	for k := i - 1; k >= 0 && k >= i-4; k-- {
		if in.word(k, "wont", "cant", "cannot", "doesnt", "didnt", "never", "refuses", "couldnt", "wouldnt", "dont", "unable") || in.word(k, "not") && in.word(k-1, "will", "does", "do", "can", "did", "could", "would") {
			return true
		}
		if in.mark(k, ".,;!?") || in.number(k) {
			return false
		}
	}
	return false
}

// changesInTime reports whether a duration begins at token i.
func (in *input) changesInTime(i int) bool {
	_, ok := in.spanAt(i)
	return ok
}

// isChange reports whether "from a to b" tells a movement, of which b is now.
func (in *input) isChange(i int) bool {
	if !in.word(i, "from", "de") {
		return false
	}
	for k := i - 1; k >= 0; k-- {
		if in.moved(k) {
			return k == i-1 || in.word(k+1, "from", "de") || i-k <= 4 && in.sentenceBreaks(k, i) == 0
		}
	}
	return false
}

// moved reports whether token i says that a value moved.
func (in *input) moved(i int) bool {
	return in.word(i, "went", "dropped", "up", "down", "bajo", "subio", "paso", "rose", "jumped", "fell", "climbed", "moved", "gone", "came", "raised", "crept", "brinco", "cayo")
}

// isWish reports whether "from a to b" is what a dose is asked for: "how much soda to
// raise alkalinity from 60 to 100".
func (in *input) isWish(i int) bool {
	return in.quantityAt(i-1) && in.hasWord("cuanto", "cuanta", "cuantas", "much", "many") && in.hasWord("subir", "bajar", "raise", "lower", "bring", "get")
}

// plusMinus reads "450 plus or minus 25".
func (in *input) plusMinus(a amount) (amount, bool) {
	i := a.to
	n := 0
	switch {
	case in.word(i, "plus") && in.word(i+1, "or") && in.word(i+2, "minus"), in.word(i, "give") && in.word(i+1, "or") && in.word(i+2, "take"):
		n = 3
	case in.mark(i, "±"):
		n = 1
	case in.mark(i, "+") && in.mark(i+1, "/") && in.mark(i+2, "-"):
		n = 3
	default:
		return a, false
	}
	b, ok := in.plainAt(i + n)
	if !ok || b.value.Low >= a.value.Low {
		return a, false
	}
	x := a.value.Low
	a.value, a.to, a.bounded = Value{Low: x - b.value.Low, High: x + b.value.Low}.scale(1, 0), b.to, true
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
	for in.mark(i, "~=:≈") || in.word(i, "about", "around", "like", "como", "approximately", "roughly", "unos", "unas") {
		i++
	}
	if a, ok := in.halfAt(i); ok {
		return a, true
	}
	if a, ok := in.oneCubicMetre(i); ok {
		return a, true
	}
	if in.noneInList(i) {
		return amount{from: i, to: i + 1, spelled: true, figures: "none"}, true
	}
	if !in.number(i) {
		return amount{}, false
	}
	if a, ok := in.spacedThousands(i); ok {
		return a, true
	}
	t := in.tokens[i]
	a := amount{value: Value{Low: t.Value, High: t.Value}, from: i, to: i + 1, figures: t.Text, spelled: t.Spelled, grouped: t.Grouped}
	if in.isLabel(i) || in.listed[i] {
		a.unit = otherUnit
		return a, true
	}
	if u, n := in.unitAt(i + 1); n > 0 {
		a.unit, a.to = u, i+1+n
	}
	if n := in.andHalf(a.to); n > 0 && a.unit != otherUnit {
		a.value, a.to = Value{Low: t.Value + 0.5, High: t.Value + 0.5}, a.to+n
	}
	if t.Grouped > 0 && (a.unit == litres || a.unit == gallons) {
		a.value = Value{Low: t.Grouped, High: t.Grouped}
	}
	in.qualify(&a)
	return a, true
}

// oneCubicMetre reads "metro cubico", "metro cubico y medio" and "metro y medio cubico".
func (in *input) oneCubicMetre(i int) (amount, bool) {
	if !in.word(i, "metro") {
		return amount{}, false
	}
	x, to := 1.0, i+2
	switch half := in.andHalf(i + 1); {
	case half > 0 && in.word(i+1+half, "cubico", "cubicos"):
		x, to = 1.5, i+2+half
	case !in.word(i+1, "cubico", "cubicos"):
		return amount{}, false
	case in.andHalf(i+2) > 0:
		x, to = 1.5, i+4
	}
	return amount{value: Value{Low: x, High: x}, unit: cubicMetres, from: i, to: to, spelled: true}, true
}

// andHalf returns how many tokens "y medio" or "and a half" takes at token i, or 0.
func (in *input) andHalf(i int) int {
	switch {
	case !in.word(i, "y", "and"):
		return 0
	case in.word(i+1, "medio", "media", "half"):
		return 2
	case in.word(i+1, "a") && in.word(i+2, "half"):
		return 3
	}
	return 0
}

// spacedThousands reads "1 325 litres".
func (in *input) spacedThousands(i int) (amount, bool) {
	if t := in.tokens[i]; in.number(i+1) && t.Spelled && !in.tokens[i+1].Spelled && t.Value >= 1000 && t.Value <= 9000 && math.Mod(t.Value, 1000) == 0 && in.tokens[i+1].Value >= 50 && in.tokens[i+1].Value < 1000 {
		u, n := in.unitAt(i + 2) // "mil 200 litros"
		x := t.Value + in.tokens[i+1].Value
		return amount{value: Value{Low: x, High: x}, unit: u, from: i, to: i + 2 + n, figures: t.Text}, true
	}
	if !in.number(i+1) || len(in.tokens[i].Text) > 2 || len(in.tokens[i+1].Text) != 3 || in.tokens[i+1].Glued || in.tokens[i].Value < 1 || in.tokens[i].Spelled || in.tokens[i+1].Value != float64(int(in.tokens[i+1].Value)) {
		return amount{}, false
	}
	u, n := in.unitAt(i + 2)
	if u != litres {
		return amount{}, false
	}
	x := in.tokens[i].Value*1000 + in.tokens[i+1].Value
	return amount{value: Value{Low: x, High: x}, unit: u, from: i, to: i + 2 + n, figures: in.tokens[i].Text + in.tokens[i+1].Text}, true
}

// noneInList knows "nada, 7.4, 100": a word for nothing where a list has a place.
func (in *input) noneInList(i int) bool {
	return in.ctx.Asked == AskedReadings && len(in.ctx.AskedReadings) > 1 && (in.word(i, "nada", "none", "nothing", "zip", "zilch", "nil", "ninguno", "cerito", "egg") &&
		(i == 0 || in.word(i, "egg") && in.word(i-1, "goose") || in.mark(i-1, ",/") && in.number(i-2)) && in.mark(i+1, ",/-.") && in.number(i+2))
}

// qualify notes what makes a number less than one: a minus sign in words, or "and something".
func (in *input) qualify(a *amount) {
	if in.word(a.from-1, "negative", "minus") && !in.word(a.from-2, "or") {
		a.value = Value{Low: -a.value.Low, High: -a.value.High}
	}
	switch {
	case in.word(a.to, "point", "punto", "coma", "dot") && in.word(a.to+1, "something", "algo", "whatever"):
		a.unclear = true
	case in.word(a.to, "something", "and", "y") && (in.word(a.to, "something") || in.word(a.to+1, "something", "change", "pico", "fraccion", "algo", "tantos")),
		in.mark(a.to, "-") && in.word(a.to+1, "something"):
		a.unclear = true
	}
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
