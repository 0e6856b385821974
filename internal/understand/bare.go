package understand

import "tubhand/internal/understand/words"

// takeBare gives numbers without names to the readings asked for, in the order asked.
func (in *input) takeBare(f *found, names []name, numbers []amount, pairs []int, notes []note) {
	open := in.openQuantities(f, names, pairs)
	loose := measuring(open, looseNumbers(numbers, pairs))
	if len(names)+len(loose) == 0 && in.takeNothing(f, open, notes) {
		return
	}
	if len(open) == 0 && in.contradicted(f, numbers, pairs) || in.twoSources(f, numbers, pairs) || len(open) == 0 || len(loose) == 0 {
		return
	}
	f.attempt = true
	blank := in.blanks(len(names) == 0 && len(loose) < len(open), loose, notes)
	switch {
	case len(blank) == 0 && len(names) == 0 && len(loose) < len(open) && in.takePlaces(f, open, loose, notes):
	case len(blank) == 0 && in.corrected && in.takeMatched(f, open, loose):
	case len(loose)+len(blank) == len(open):
		in.takeList(f, open, loose, blank)
	case len(names) > 0 && in.takeWhole(f, loose), in.takeFront(f, open, loose):
	case len(names) > 0 && len(f.readings) > 0:
		in.takeByFit(f, open, in.summedUp(open, loose))
	default:
		in.takeUnnamed(f, open, loose)
	}
}

// takeUnnamed handles a list that is no list of what was asked for: too few numbers or
// too many.
func (in *input) takeUnnamed(f *found, open []Quantity, loose []amount) {
	switch {
	case len(loose) == 1 && in.takeAll(f, open, loose[0]):
	case len(loose) == 1 && len(open) > 1:
		in.takeLone(f, open, loose[0])
	case len(loose) < len(open):
		f.ask("fewer numbers than were asked for")
		if !anyAbsurd(open, loose) {
			if in.onlyNumbers() && len(loose) < 3 && fitCost(open[len(loose)], loose[len(loose)-1]) < 1 {
				return // "7.2, 90" of three: which is missing cannot be told
			}
			in.takeList(f, open[:len(loose)], loose, nil)
			return
		}
		if !in.onlyJoined() {
			in.takeOnlyFits(f, open, loose)
		}
	default:
		in.takeOfMany(f, open, in.summedUp(open, loose))
	}
}

// onlyJoined reports whether the text is numbers and what joins them, "3 y 100".
func (in *input) onlyJoined() bool {
	for i, t := range in.tokens {
		if t.Kind == words.Word && !in.word(i, "and", "y", "e") {
			return false
		}
	}
	return true
}

// takeNothing reads "zip" and "ninguno" as 0 where one reading was asked for that can be 0.
func (in *input) takeNothing(f *found, open []Quantity, notes []note) bool {
	if len(open) != 1 || in.ctx.Asked != AskedReadings || !canBeNothing(open[0]) || f.why != "" || in.sayNothingReadable(notes) || in.bleached() || in.almostNothing() ||
		!in.hasWord("none", "zip", "zilch", "nothing", "nada", "ninguno", "nil", "zippo") {
		return false
	}
	f.readings[open[0]] = Value{}
	f.attempt = true
	return true
}

// takeFront takes the whole row asked for and asks about the one number after it: "3 7.4
// 100 101", "1 7.4 100 101 total 3".
func (in *input) takeFront(f *found, open []Quantity, loose []amount) bool {
	n := len(open)
	if n < 3 || len(loose) != n+1 || !in.inRow(loose) || !allFit(open, loose[:n]) {
		return false
	}
	in.takeList(f, open, loose[:n], nil)
	f.ask("more numbers than were asked for")
	return true
}

// takeWhole takes a complete list beside which some readings are named again: "3, 7.4,
// 100, actually alk's more like 120".
func (in *input) takeWhole(f *found, loose []amount) bool {
	asked := in.ctx.AskedReadings
	if len(loose) != len(asked) || !in.inRow(loose) || !allFit(asked, loose) {
		return false
	}
	for k, q := range asked {
		if _, ok := f.readings[q]; !ok {
			in.store(f, q, loose[k])
		}
	}
	return true
}

// summedUp keeps the numbers after the word that concludes: "ten! no, five! ... so 5 and 7.2".
func (in *input) summedUp(open []Quantity, loose []amount) []amount {
	for i := len(in.tokens) - 1; i >= 0; i-- {
		if !in.word(i, "so", "entonces", "final", "finally", "conclusion", "anyway", "total", "quedamos", "going", "call", "settled", "goes") {
			continue
		}
		var after []amount
		for _, a := range loose {
			if a.from > i {
				after = append(after, a)
			}
		}
		if len(after) > 0 {
			if len(after) == len(open) && allFit(open, after) {
				return after
			}
			return loose
		}
	}
	return loose
}

// openQuantities are those asked for that no name has claimed.
func (in *input) openQuantities(f *found, names []name, pairs []int) []Quantity {
	if in.ctx.Asked != AskedReadings && in.ctx.Asked != AskedConfirm {
		return nil
	}
	claimed := map[Quantity]bool{}
	for _, n := range pairs {
		if n >= 0 {
			claimed[names[n].quantity] = true
		}
	}
	var open []Quantity
	for _, q := range in.ctx.AskedReadings {
		if _, ok := f.readings[q]; !ok && !claimed[q] && !f.worded[q] {
			open = append(open, q)
		}
	}
	return open
}

// measuring keeps the numbers whose unit can be that of anything still open.
func measuring(open []Quantity, loose []amount) []amount {
	kept := loose[:0]
	for _, a := range loose {
		for _, q := range open {
			if fitCost(q, a) < costImpossible {
				kept = append(kept, a)
				break
			}
		}
	}
	return kept
}

func looseNumbers(numbers []amount, pairs []int) []amount {
	var out []amount
	for k, n := range pairs {
		if n < 0 {
			out = append(out, numbers[k])
		}
	}
	return out
}

// takeList assigns in order. If one value cannot be, the order itself is in doubt and
// none is taken, except where only one was asked for.
func (in *input) takeList(f *found, open []Quantity, loose []amount, blank map[int]bool) {
	k := 0
	for i := range open {
		if blank[i] {
			continue
		}
		if len(open) > 1 && misplaced(open[i], loose[k]) && !in.fitsNone(loose[k]) {
			f.ask("the numbers do not fit the order asked")
			return
		}
		k++
	}
	k = 0
	for i, q := range open {
		if blank[i] {
			f.readings[q] = Value{Unknown: true}
			continue
		}
		in.store(f, q, loose[k])
		k++
	}
}

// fitsNone reports whether a number can be none of the readings asked for, so that it
// says nothing against the order of the others: "7.6 / 1000".
func (in *input) fitsNone(a amount) bool {
	for _, q := range in.ctx.AskedReadings {
		if fitCost(q, a) < costImpossible && !isAbsurd(q, convert(q, a)) {
			return false
		}
	}
	return a.unit == noUnit
}

func anyAbsurd(open []Quantity, loose []amount) bool {
	for k, a := range loose {
		if fitCost(open[k], a) >= costImpossible || isAbsurd(open[k], convert(open[k], a)) || !isTypical(open[k], a.value) {
			return true
		}
	}
	return false
}

// misplaced reports whether a number is likely to belong to another quantity.
func misplaced(q Quantity, a amount) bool {
	if fitCost(q, a) >= costImpossible {
		return true
	}
	v := convert(q, a)
	if !isAbsurd(q, v) {
		return false
	}
	// "ph 74" in its right place is a slip of the point, not of the order.
	_, slip := likely(q, v.ends()[0])
	return !slip
}

// takeAll gives one number to all that were asked for where the owner says so: "both 3".
func (in *input) takeAll(f *found, open []Quantity, a amount) bool {
	if len(open) != 2 || !in.hasWord("both", "ambos", "ambas", "each") || fitCost(open[0], a) >= 1 || fitCost(open[1], a) >= 1 {
		return false
	}
	in.store(f, open[0], a)
	in.store(f, open[1], a)
	return true
}

// takeMatched gives numbers to the readings asked for in whatever order they come, if
// there is but one way in which all fit. It is for texts that put an earlier one right.
func (in *input) takeMatched(f *found, open []Quantity, loose []amount) bool {
	if len(loose) != len(open) || allFit(open, loose) {
		return false
	}
	left := append([]Quantity(nil), open...)
	rest := append([]amount(nil), loose...)
	given := map[Quantity]amount{}
	for len(rest) > 0 {
		settled := -1
		for k, a := range rest {
			if q, ok := onlyFit(left, a); ok {
				given[q], settled = a, k
				left = withoutQuantity(left, q)
				break
			}
		}
		if settled < 0 {
			return false
		}
		rest = append(rest[:settled], rest[settled+1:]...)
	}
	for _, q := range open {
		in.store(f, q, given[q])
	}
	return true
}

func withoutQuantity(list []Quantity, q Quantity) []Quantity {
	var out []Quantity
	for _, k := range list {
		if k != q {
			out = append(out, k)
		}
	}
	return out
}

// takeOnlyFits takes of an incomplete list the numbers that can be but one reading each.
func (in *input) takeOnlyFits(f *found, open []Quantity, loose []amount) {
	at := -1
	for _, a := range loose {
		q, ok := onlyFit(open, a)
		if !ok {
			return
		}
		place := 0
		for open[place] != q {
			place++
		}
		if place <= at {
			return
		}
		at = place
	}
	for _, a := range loose {
		q, _ := onlyFit(open, a)
		in.store(f, q, a)
	}
}

// takeLone takes a single number where several were asked for only if it can be but one
// of them, and asks in any case.
func (in *input) takeLone(f *found, open []Quantity, a amount) {
	f.ask("one number where several were asked for")
	if q, ok := onlyFit(open, a); ok && !in.oneBareNumber() {
		in.store(f, q, a)
	}
}

// takeByFit gives leftover numbers to the readings still open if each fits one only.
func (in *input) takeByFit(f *found, open []Quantity, loose []amount) {
	given := map[Quantity]amount{}
	for _, a := range loose {
		if q, ok := in.contradicts(f.readings, a); ok {
			in.twoValues(f, q, a)
			continue
		}
		var fits []Quantity
		for _, q := range open {
			if fitCost(q, a) < 1 {
				fits = append(fits, q)
			}
		}
		if len(fits) != 1 {
			f.ask("a number without a name")
			continue
		}
		if old, ok := given[fits[0]]; ok && !old.bounded && first(old.value) != first(a.value) {
			delete(f.readings, fits[0])
			f.ask("two values of one reading")
			continue
		}
		given[fits[0]] = a
		in.store(f, fits[0], a)
	}
}
