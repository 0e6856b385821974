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
	unclear  bool // a number was said, but which cannot be told
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
	return in.withoutAsides(out)
}

// appendAmount joins "more than 400, less than 500" and drops "3 (three)".
func (in *input) appendAmount(out []amount, a amount) []amount {
	if len(out) == 0 {
		return append(out, a)
	}
	last := &out[len(out)-1]
	switch {
	case last.value.OpenHigh && a.value.OpenLow && a.value.High > last.value.Low && a.from-last.to <= 2:
		last.value = Value{Low: last.value.Low, High: a.value.High}
		last.to = a.to
		if last.unit == noUnit {
			last.unit = a.unit
		}
		return out
	case last.value == a.value && last.spelled != a.spelled && in.mark(a.from-1, "("):
		return out
	case in.nearTo(a.from):
		return out
	}
	return append(out, a)
}

// nearTo knows hedges that do not change the range before: "nearer three".
func (in *input) nearTo(i int) bool {
	return in.word(i-1, "nearer", "leaning") || in.word(i-1, "to", "toward", "towards") && in.word(i-2, "closer", "nearer", "leaning", "close", "more")
}

// withoutAsides drops the numbers in brackets where those outside are as many as asked.
func (in *input) withoutAsides(all []amount) []amount {
	if in.ctx.Asked != AskedReadings || len(all) <= len(in.ctx.AskedReadings) {
		return all
	}
	depth := 0
	inside := make([]bool, len(in.tokens)+1)
	for i := range in.tokens {
		if in.mark(i, "(") {
			depth++
		}
		inside[i] = depth > 0
		if in.mark(i, ")") {
			depth = max(0, depth-1)
		}
	}
	var kept []amount
	for _, a := range all {
		if !inside[a.from] {
			kept = append(kept, a)
		}
	}
	if len(kept) == len(in.ctx.AskedReadings) {
		return kept
	}
	return all
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
		if between && in.isChange(i) {
			b.value.Low = b.value.High
			if c, ok := in.plainAt(b.to - 1); ok {
				b.value, b.from, b.bounded = c.value, c.from, false
			}
		}
		return b, true
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

// isChange reports whether "from a to b" tells a movement, of which b is now.
func (in *input) isChange(i int) bool {
	return in.word(i-1, "went", "dropped", "up", "down", "bajo", "subio", "paso", "rose", "jumped", "fell", "climbed", "moved", "gone")
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
	a.value, a.to, a.bounded = Value{Low: x - b.value.Low, High: x + b.value.Low}, b.to, true
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
	if !in.number(i) {
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
	if in.word(a.to, "y", "and") && (in.word(a.to+1, "medio", "media", "half") || in.word(a.to+1, "a") && in.word(a.to+2, "half")) && a.unit != otherUnit {
		a.value = Value{Low: t.Value + 0.5, High: t.Value + 0.5}
		a.to += 2 + btoi(in.word(a.to+1, "a"))
	}
	if t.Grouped > 0 && (a.unit == litres || a.unit == gallons) {
		a.value = Value{Low: t.Grouped, High: t.Grouped}
	}
	in.qualify(&a)
	return a, true
}

// qualify notes what makes a number less than one: a minus sign in words, or "and something".
func (in *input) qualify(a *amount) {
	if in.word(a.from-1, "negative", "minus") && !in.word(a.from-2, "or") {
		a.value = Value{Low: -a.value.Low, High: -a.value.High}
	}
	switch {
	case in.word(a.to, "something", "and", "y") && (in.word(a.to, "something") || in.word(a.to+1, "something", "change", "pico", "fraccion", "algo", "tantos")),
		in.mark(a.to, "-") && in.word(a.to+1, "something"):
		a.unclear = true
	}
}

// halfAt reads "half" and "medio" as 0.5, where a number is certain to stand.
func (in *input) halfAt(i int) (amount, bool) {
	start := i
	if in.word(i, "a", "un") && in.word(i+1, "half", "medio") {
		i++
	}
	if !in.word(i, "half", "medio") || in.timeUnit(i+1) > 0 || in.word(i+1, "an", "hour", "full", "way", "empty", "dozen", "hora") {
		return amount{}, false
	}
	a := amount{value: Value{Low: 0.5, High: 0.5}, from: start, to: i + 1, spelled: true, figures: "half"}
	_, named := in.nameBefore(start)
	switch {
	case in.word(i+1, "ppm", "part"):
		a.to++
	case in.word(i+1, "a") && in.word(i+2, "ppm", "part"):
		a.to += 2
	case in.word(i+1, "de", "of", "to") && (in.quantityAt(i+2) || in.number(i+2)):
	case named && (in.endsClause(i) || in.word(i+1, "to", "a", "or", "o") || in.word(i+1, "and", "y", "ph", "alk", "alkalinity")), in.word(start-1, "than", "under", "de", "is", "at") && in.endsClause(i) && in.ctx.Asked == AskedReadings:
	default:
		return amount{}, false
	}
	return a, true
}

func (in *input) quantityAt(i int) bool {
	if i >= len(in.tokens) {
		return false
	}
	_, ok := in.nameAt(i)
	return ok
}

// nameBefore returns the quantity named right before token i, a verb between allowed.
func (in *input) nameBefore(i int) (name, bool) {
	for k := i - 1; k >= 0 && k >= i-4; k-- {
		if n, ok := in.nameAt(k); ok && n.to <= i {
			return n, true
		}
		if !in.word(k, "is", "es", "at", "was", "like", "about", "a", "como", "en", "reads", "level", "says") && !in.mark(k, ":=-") {
			break
		}
	}
	return name{}, false
}

// isLabel knows numbers that name a thing or count it: "unit 4", "step 3", "E5", "#12",
// "$40", "all three", "the last one".
func (in *input) isLabel(i int) bool {
	if in.word(i-1, "unit", "step", "room", "cabin", "apt", "house", "lot", "site", "day", "number", "paso", "casa", "cuarto", "cabana", "unidad",
		"numero", "option", "opcion", "route", "building", "age", "page", "edad", "villa", "suite", "dia", "pagina", "pump", "version", "aged") || in.word(i-1, "be", "ill") && in.tokens[i].Value >= 30 && in.ctx.Asked == AskedReadings && !in.asks(WaterTemp) {
		return true
	}
	if in.mark(i-1, "$#€£") || in.isYearAt(i) {
		return true
	}
	if in.word(i-1, "de") && in.word(i-2, "hija", "hijo", "nino", "nina", "nieto", "nieta", "sobrino", "sobrina") {
		return true
	}
	t := in.tokens[i]
	if t.Spelled {
		return in.isCount(i)
	}
	if i > 0 && t.Glued && in.tokens[i-1].Kind == words.Word && len(in.tokens[i-1].Text) <= 3 {
		_, isName := in.nameAt(i - 1)
		return !isName && !in.word(i-1, "x", "is", "at", "to", "de", "en", "es", "by", "por", "of", "y", "l", "w", "h", "d")
	}
	return false
}

// isCount knows spelled numbers that count or point: "all three", "the second one is".
func (in *input) isCount(i int) bool {
	if in.word(i-1, "all", "these", "those", "los", "las", "every", "each", "either", "estos", "estas", "both", "my", "our", "mis", "other", "us") {
		return true
	}
	if text := in.tokens[i].Text; text != "one" && text != "uno" && text != "una" {
		return in.word(i-1, "the") && in.tokens[i].Value < 6 && in.tokens[i].Value > 1 && !in.word(i-2, "at", "on", "between")
	}
	return in.word(i-1, "the", "this", "that", "last", "next", "first", "second", "third", "other", "chlorine", "ph", "which", "no", "little", "big", "good", "bad", "new", "old", "right", "wrong", "same", "purple", "pink", "alkalinity") &&
		(in.word(i+1, "is", "reads", "says", "was", "looks", "isnt", "i", "hold", "came") || in.mark(i+1, ",.") || in.endsClause(i) || in.number(i+1)) &&
		!(in.word(i-1, "chlorine", "ph", "alkalinity") && in.endsClause(i)) ||
		in.word(i+1, "strip", "of", "more", "thing", "that", "day", "side", "is", "says", "reads")
}

func (in *input) isYearAt(i int) bool {
	t := in.tokens[i]
	return !t.Spelled && len(t.Text) == 4 && t.Value >= 1985 && t.Value <= 2032 && t.Value == float64(int(t.Value)) &&
		in.word(i-1, "in", "since", "from", "en", "del", "de", "desde", "may", "june", "july", "august", "march", "april", "year", "ano", "expired", "a", "the")
}

// rangeEnd reads the second end of a range that began with a.
func (in *input) rangeEnd(a amount, between bool) (amount, bool) {
	i := a.to
	n := 0
	switch {
	case between && (in.word(i, "and", "y", "to", "a", "n", "or", "o", "e") || in.mark(i, "&")), in.word(i, "to", "thru", "through", "a", "hasta", "til"):
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
	either := in.word(i, "or", "o") && !between
	for in.word(i+n, "the", "el") {
		n++
	}
	b, ok := in.plainAt(i + n)
	if ok && either && !sameStep(a.value.Low, b.value.Low) {
		a.value, a.to, a.unclear = Value{}, b.to, true
		return a, true
	}
	if !ok || b.unit == otherUnit && a.unit == noUnit && !in.word(i, "a", "to", "or", "-") {
		return amount{}, false
	}
	return joinEnds(a, b)
}

// sameStep reports whether "a or b" can be two neighbouring colours of a chart.
func sameStep(a, b float64) bool {
	low, high := min(a, b), max(a, b)
	switch {
	case low >= 6 && high <= 9:
		return high-low < 0.75
	case high <= 15:
		return high-low <= 5 && high < 5*max(low, 0.5)
	}
	return high <= 2.6*low
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
	case in.word(i, "darker") && in.word(i+1, "than"):
		return 2, true
	case in.word(i, "lighter") && in.word(i+1, "than"):
		return 2, false
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
