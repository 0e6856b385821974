package understand

import (
	"math"
	"strings"

	"tubhand/internal/understand/words"
)

// joinSpoken makes "seven four" 7.4 where a pH stands to be told: two spoken figures
// in a row, the first 6, 7 or 8.
func (in *input) joinSpoken(all []amount, names []name) []amount {
	if !in.asks(PH) && !namesInclude(names, PH) {
		return all
	}
	var out []amount
	for k := 0; k < len(all); k++ {
		a := all[k]
		if k+1 < len(all) && (isSpokenPair(a, all[k+1]) && in.closeBy(a, all[k+1]) || in.isFigurePair(a, all[k+1], names)) && in.pairIsPH(a, names, len(all)) {
			b := all[k+1]
			v := a.value.Low + b.value.Low/10
			if b.value.Low < 1 {
				v = a.value.Low + b.value.Low
			}
			a.value, a.to = Value{Low: v, High: v}, b.to
			k++
		} else if k+1 < len(all) && in.runsOn(a, all[k+1]) {
			b := all[k+1]
			tenth := math.Floor(b.value.Low / 100)
			a.value = Value{Low: a.value.Low + tenth/10, High: a.value.Low + tenth/10}
			out = append(out, a)
			a = b
			a.value = exactly(b.value.Low - 100*tenth)
			k++
		} else if k+1 < len(all) && isOpenSpoken(a) && in.closeBy(a, all[k+1]) && isDigit(all[k+1]) && len(all) == 2 {
			v := first(a.value) + all[k+1].value.Low/10
			a.to = all[k+1].to
			a = openEnd(amount{value: Value{Low: v, High: v}, from: a.from, to: a.to, spelled: true}, a.value.OpenHigh)
			k++
		}
		out = append(out, a)
	}
	return out
}

// isFigurePair knows "7 4" and "7. 4" and "7..6", typed with a slip between.
func (in *input) isFigurePair(a, b amount, names []name) bool {
	x := a.value.Low
	if a.bounded || b.bounded || a.unit != noUnit || b.unit != noUnit || x < 6 || x > 8 || x != math.Trunc(x) || len(a.figures) > 1 {
		return false
	}
	if len(names) == 0 && len(in.ctx.AskedReadings) > 1 && !in.standsOut(a, b) || !in.slipBetween(a, b) {
		return false
	}
	tenth := b.value.Low < 1 && strings.HasPrefix(b.figures, ".") && b.value.Low > 0
	for _, n := range names {
		if n.from == b.to {
			return tenth
		}
	}
	return tenth || b.value.Low <= 9 && len(b.figures) == 1
}

// slipBetween reports whether nothing, a sign or two points typed without a space stand
// between two figures.
func (in *input) slipBetween(a, b amount) bool {
	switch b.from - a.to {
	case 0:
		return true
	case 1:
		return in.mark(a.to, ".,'")
	case 2:
		return in.mark(a.to, ".,") && in.mark(a.to+1, ".,") && in.tokens[a.to].Glued && in.tokens[b.from].Glued
	}
	return false
}

// standsOut reports whether nothing but a space stands between the two and more than
// that between the other numbers: "7 5 and 120".
func (in *input) standsOut(a, b amount) bool {
	if a.to != b.from || in.number(b.to) || in.number(a.from-1) {
		return false
	}
	count := 0
	for i := range in.tokens {
		if in.number(i) {
			count++
			if in.number(i+1) && i != a.from {
				return false
			}
		}
	}
	return count == len(in.ctx.AskedReadings)+1
}

func isSpokenPair(a, b amount) bool {
	return a.spelled && b.spelled && !a.bounded && !b.bounded && a.unit == noUnit &&
		a.value.Low >= 6 && a.value.Low <= 8 && b.value.Low <= 9 && a.value.Low == float64(int(a.value.Low)) && b.value.Low == float64(int(b.value.Low))
}

// runsOn knows "seven five ninety five", a pH of 7.5 and 95, where the figures read as 7
// and 595, which is no usual alkalinity.
func (in *input) runsOn(a, b amount) bool {
	return in.asks(PH) && isDigit(a) && a.value.Low >= 6 && a.value.Low <= 8 && a.to == b.from && b.spelled && !b.bounded && b.unit == noUnit &&
		b.value.Low > boundsOf(TotalAlkalinity).high && b.value.Low < 1000 && math.Mod(b.value.Low, 100) >= 10 && !strings.Contains(b.figures, "hun") && !strings.Contains(b.figures, "cien") && !strings.Contains(b.figures, "quinien")
}

// isOpenSpoken knows "below six" before "eight".
func isOpenSpoken(a amount) bool {
	x := first(a.value)
	return a.spelled && a.unit == noUnit && (a.value.OpenLow || a.value.OpenHigh) && x >= 6 && x <= 8 && x == math.Trunc(x)
}

// closeBy reports whether nothing but a dash stands between two numbers.
func (in *input) closeBy(a, b amount) bool {
	return a.to == b.from || a.to+1 == b.from && in.mark(a.to, "-")
}

// joinDigits reads "one eight zero" as 180 where a number of that size is told: the
// volume, the one reading asked for, or the one named beside.
func (in *input) joinDigits(all []amount) []amount {
	var out []amount
	for k := 0; k < len(all); k++ {
		a := all[k]
		switch rest := all[k:]; {
		case in.isThreeDigits(rest):
			a.value, a.unit, a.to = exactly(100*a.value.Low+10*rest[1].value.Low+rest[2].value.Low), rest[2].unit, rest[2].to
			k += 2
		case in.isHundredsPair(rest):
			a.value, a.unit, a.to = exactly(100*a.value.Low+rest[1].value.Low), rest[1].unit, rest[1].to
			k++
		}
		out = append(out, a)
	}
	return out
}

// isThreeDigits reports whether the list begins with three spoken figures that are one number.
func (in *input) isThreeDigits(rest []amount) bool {
	if len(rest) < 3 || rest[0].value.Low < 1 || len(rest) > 3 && rest[3].from == rest[2].to {
		return false
	}
	for k, a := range rest[:3] {
		if !isDigit(a) || k > 0 && a.from != rest[k-1].to {
			return false
		}
	}
	return in.wantsHundreds(rest[0].from, rest[2].to)
}

// isHundredsPair knows "tres cincuenta" of a volume and "nineteen fifty" of salt.
func (in *input) isHundredsPair(rest []amount) bool {
	if len(rest) < 2 || rest[1].from != rest[0].to || !isTens(rest[1]) || rest[0].unit != noUnit {
		return false
	}
	return in.asksVolume() && isDigit(rest[0]) && rest[0].value.Low >= 1 || isTeen(rest[0]) && in.wantsThousands(rest[0].from, rest[1].to)
}

func isTeen(a amount) bool {
	return a.spelled && !a.bounded && a.value.Low >= 11 && a.value.Low <= 29 && a.unit == noUnit
}

func isTens(a amount) bool {
	return a.spelled && !a.bounded && a.value.Low >= 10 && a.value.Low < 100
}

// wantsThousands reports whether "nineteen fifty" at [from,to) can be 1950.
func (in *input) wantsThousands(from, to int) bool {
	if in.asksVolume() || in.ctx.Asked == AskedReadings && len(in.ctx.AskedReadings) == 1 && boundsOf(in.ctx.AskedReadings[0]).high > 2000 {
		return true
	}
	n, ok := in.nameBefore(from)
	if !ok {
		n, ok = in.nameAt(to)
	}
	return ok && boundsOf(n.quantity).high > 2000
}

// isDigit reports whether a number is one figure spoken.
func isDigit(a amount) bool {
	x := a.value.Low
	return a.spelled && !a.bounded && !a.unclear && x >= 0 && x <= 9 && x == math.Trunc(x)
}

// wantsHundreds reports whether three figures at [from,to) can be one number.
func (in *input) wantsHundreds(from, to int) bool {
	if in.asksVolume() || in.ctx.Asked == AskedReadings && len(in.ctx.AskedReadings) == 1 && boundsOf(in.ctx.AskedReadings[0]).high > 100 {
		return true
	}
	if u, n := in.volumeUnitAt(to); n > 0 && u != otherUnit {
		return true
	}
	n, ok := in.nameBefore(from)
	if !ok {
		n, ok = in.nameAt(to)
	}
	return ok && boundsOf(n.quantity).high > 100
}

// pairIsPH reports whether the pair at a is the pH's: the last quantity named before
// it, or named right after it, or the numbers are more than what was asked for.
func (in *input) pairIsPH(a amount, names []name, count int) bool {
	if len(names) == 0 {
		return count > len(in.ctx.AskedReadings) || count > 2 && a.spelled && !in.number(a.from-1) && in.number(a.to) && !in.number(a.to+1) && !in.inRowOfFigures(a)
	}
	last := Quantity("")
	for _, n := range names {
		if n.to <= a.from {
			last = n.quantity
		} else if d := n.from - a.to; n.quantity == PH && d >= 1 && d <= 3 {
			return true
		}
	}
	return last == PH
}

// inRowOfFigures reports whether other numbers than the pair at a stand side by side too.
func (in *input) inRowOfFigures(a amount) bool {
	for i := range in.tokens {
		if i != a.from && in.number(i) && in.number(i+1) {
			return true
		}
	}
	return false
}

func namesInclude(names []name, q Quantity) bool {
	for _, n := range names {
		if n.quantity == q {
			return true
		}
	}
	return false
}

// withHomophones adds figures that dictation wrote as words ("chlorine to", "ph ate
// point oh"), only right after a name or in a short bare answer to a question.
func (in *input) withHomophones(numbers []amount, names []name) []amount {
	if in.ctx.Asked != AskedReadings && in.ctx.Asked != AskedConfirm {
		return numbers
	}
	for _, n := range names {
		if a, ok := in.homophoneAt(in.afterName(n)); ok {
			numbers = insertAmount(numbers, a)
		}
	}
	for _, n := range names {
		numbers = in.homophonesBefore(n, numbers)
	}
	if len(in.tokens) == 1 && len(in.ctx.AskedReadings) > 0 {
		if a, ok := in.homophoneAt(0); ok {
			a.unclear = true
			return insertAmount(numbers, a)
		}
	}
	if end := in.firstSentence(); len(names) == 0 && end <= 4*len(in.ctx.AskedReadings) && in.mostlyNumbers(end) {
		for i := range end {
			if a, ok := in.homophoneAt(i); ok {
				numbers = insertAmount(numbers, a)
			}
		}
	}
	return numbers
}

// afterName returns where the number of a name begins: past "is" and signs, and past the
// first figure of a pH.
func (in *input) afterName(n name) int {
	i := n.to
	for in.word(i, "is", "es", "was", "at", "level") || in.mark(i, ":=") {
		i++
	}
	if n.quantity == PH && in.number(i) && in.tokens[i].Spelled && in.tokens[i].Value >= 6 && in.tokens[i].Value <= 8 {
		i++
	}
	return i
}

// homophonesBefore adds "ate tea for the alkalinity".
func (in *input) homophonesBefore(n name, numbers []amount) []amount {
	for i := max(0, n.from-5); i < n.from-1; i++ {
		if a, ok := in.homophoneAt(i); ok && a.to > i+1 && in.word(a.to, "for", "de", "para") && in.onlyArticles(a.to+1, n.from) {
			numbers = insertAmount(numbers, a)
		}
	}
	return numbers
}

// homophoneAt reads a homophone, with decimals ("ate point oh") and the teens and
// tens that dictation breaks apart ("ate tea").
func (in *input) homophoneAt(i int) (amount, bool) {
	if i < 0 || i >= len(in.tokens) {
		return amount{}, false
	}
	v, ok := words.Homophone(in.tokens[i])
	if !ok || in.tokens[i].Text == "free" && !in.endsClause(i) {
		return amount{}, false
	}
	a := amount{from: i, to: i + 1, spelled: true, figures: in.tokens[i].Text}
	switch {
	case in.word(i+1, "tea", "tee", "ty", "t"):
		v, a.to = v*10, i+2
	case in.number(i+1) && in.tokens[i+1].Value < 1 && in.tokens[i+1].Spelled:
		v, a.to = v+in.tokens[i+1].Value, i+2
	case in.number(i+1) && in.tokens[i+1].Spelled && in.tokens[i+1].Value >= 10 && in.tokens[i+1].Value < 100:
		v, a.to = v*100+in.tokens[i+1].Value, i+2
	case in.word(i+1, "hundred"):
		v, a.to = v*100, i+2
	case !in.endsClause(i) && !in.word(i+1, "and", "y", "ppm", "ph", "p", "alkalinity", "alk", "hardness", "calcium", "bromine", "total") && !in.number(i+1):
		return amount{}, false
	}
	a.value = Value{Low: v, High: v}
	return a, true
}

// firstSentence returns where the sentence that the text begins with ends; a list may
// have points between its figures.
func (in *input) firstSentence() int {
	for i := range in.tokens {
		if (in.mark(i, ".!?") || in.tokens[i].Kind == words.Break) && i > 3 && !in.number(i+1) {
			return i
		}
	}
	return len(in.tokens)
}

func (in *input) mostlyNumbers(end int) bool {
	other := 0
	for i, t := range in.tokens[:end] {
		if t.Kind == words.Word {
			if _, ok := words.Homophone(t); !ok && !in.word(i, "and", "y", "then", "um", "uh", "point", "tea", "oh", "thats", "its", "is") {
				other++
			}
		}
	}
	return other == 0
}

// insertAmount puts a where it belongs and drops the numbers that it swallows.
func insertAmount(numbers []amount, a amount) []amount {
	out := make([]amount, 0, len(numbers)+1)
	placed := false
	for _, n := range numbers {
		if n.from >= a.from && n.to <= a.to {
			continue
		}
		if n.from <= a.from && n.to >= a.to {
			return numbers
		}
		if !placed && n.from > a.from {
			out = append(out, a)
			placed = true
		}
		out = append(out, n)
	}
	if !placed {
		out = append(out, a)
	}
	return out
}
