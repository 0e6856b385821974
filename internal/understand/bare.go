package understand

import "tubhand/internal/understand/words"

// takeBare gives numbers without names to the readings asked for, in the order asked.
func (in *input) takeBare(f *found, names []name, numbers []amount, pairs []int, notes []note) {
	open := in.openQuantities(f, names, pairs)
	loose := looseNumbers(numbers, pairs)
	if len(open) == 1 && len(loose) == 0 && len(names) == 0 && in.ctx.Asked == AskedReadings && canBeNothing(open[0]) && f.why == "" && in.hasWord("none", "zip", "zilch", "nothing", "nada", "ninguno", "nil", "zippo") && !in.sayNothingReadable(notes) {
		f.readings[open[0]] = Value{}
		f.attempt = true
		return
	}
	if len(open) == 0 || len(loose) == 0 {
		return
	}
	f.attempt = true
	blank := in.blanks(len(names) == 0 && len(loose) < len(open), loose, notes)
	switch {
	case len(loose)+len(blank) == len(open):
		in.takeList(f, open, loose, blank)
	case len(names) > 0 && len(f.readings) > 0:
		in.takeByFit(f, open, loose)
	case len(loose) == 1 && len(open) > 1:
		in.takeFirst(f, open, loose[0])
	case len(loose) < len(open):
		f.ask("fewer numbers than were asked for")
		if !anyAbsurd(open, loose) {
			in.takeList(f, open[:len(loose)], loose, nil)
		}
	default:
		in.takeOfMany(f, open, in.summedUp(open, loose))
	}
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
		if _, ok := f.readings[q]; !ok && !claimed[q] {
			open = append(open, q)
		}
	}
	return open
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
		if len(open) > 1 && misplaced(open[i], loose[k]) {
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

// takeFirst takes a single number for the first reading asked, and asks for the rest.
func (in *input) takeFirst(f *found, open []Quantity, a amount) {
	f.ask("one number where several were asked for")
	if !misplaced(open[0], a) && isTypical(open[0], a.value) {
		in.store(f, open[0], a)
	}
}

// takeByFit gives leftover numbers to the readings still open if each fits one only.
func (in *input) takeByFit(f *found, open []Quantity, loose []amount) {
	for _, a := range loose {
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
		in.store(f, fits[0], a)
	}
}

// takeOfMany handles more numbers than readings asked: one may repeat the other.
func (in *input) takeOfMany(f *found, open []Quantity, loose []amount) {
	if len(open) == len(loose) {
		in.takeList(f, open, loose, nil)
		return
	}
	if len(open) > 1 {
		f.ask("more numbers than were asked for")
		return
	}
	q := open[0]
	var fitting []amount
	for _, a := range loose {
		if fitCost(q, a) < 1 && (len(fitting) == 0 || fitting[len(fitting)-1].value != a.value) {
			fitting = append(fitting, a)
		}
	}
	if len(fitting) > 1 && in.tellsCourse() {
		fitting = fitting[len(fitting)-1:]
	}
	if q == WaterTemp && len(fitting) > 0 {
		for _, a := range fitting {
			in.store(f, q, a)
		}
		return
	}
	if len(fitting) == 2 && fitting[1].from-fitting[0].to <= 1 && !in.mark(fitting[0].to, "?.") && sameStep(first(fitting[0].value), first(fitting[1].value)) {
		if r, ok := joinEnds(fitting[0], fitting[1]); ok {
			in.store(f, q, r)
			return
		}
	}
	if len(fitting) != 1 {
		f.ask("more numbers than were asked for")
		return
	}
	in.store(f, q, fitting[0])
}

// tellsCourse reports whether the text tells how a reading came about over several
// tests, of which the last is now: "started 8.0, dosed, 7.8, dosed, 7.5".
func (in *input) tellsCourse() bool {
	return in.hasWord("started", "dosed", "redosed", "empezo", "empece", "retested", "first", "primero", "originally", "initially") &&
		in.hasWord("then", "dosed", "now", "luego", "finally", "ended", "ahora", "quedo", "after", "despues", "retested", "settled")
}

// blanks finds places of a bare list that say "could not read": a sign or word in the
// list, or "the third I can't make out".
func (in *input) blanks(wanted bool, loose []amount, notes []note) map[int]bool {
	if !wanted {
		return nil
	}
	out := map[int]bool{}
	place, k := 0, 0
	for i := range in.tokens {
		switch {
		case k < len(loose) && i == loose[k].from:
			place++
			k++
		case in.isBlankSign(i), in.ordinal(i, len(in.ctx.AskedReadings)) == place+1 && (in.mark(i+1, "?") || in.word(i+1, "one") && in.mark(i+2, "?")):
			out[place] = true
			place++
		}
	}
	if len(out) > 0 {
		return out
	}
	for _, n := range notes {
		if n.sign == signUnknown {
			if at, ok := in.ordinalNear(n, len(in.ctx.AskedReadings), loose); ok {
				return map[int]bool{at: true}
			}
		}
	}
	return nil
}

// isBlankSign knows "?", "x", "skip", "n/a" where a list has a place.
func (in *input) isBlankSign(i int) bool {
	t := in.tokens[i]
	if t.IsWord("n") && in.mark(i+1, "/") && in.word(i+2, "a") {
		return i == 0 || in.number(i-1) || in.mark(i-1, ",/-") || in.tokens[i-1].Kind == words.Break
	}
	beside := (i == 0 || in.number(i-1) || in.mark(i-1, ",/-") || in.tokens[i-1].Kind == words.Break) &&
		(i+1 >= len(in.tokens) || in.number(i+1) || in.mark(i+1, ",/-") || in.tokens[i+1].Kind == words.Break)
	if !beside {
		return false
	}
	if t.IsMark("?") {
		return i+1 < len(in.tokens) || in.number(i-1) && !t.Glued || in.mark(i-1, ",")
	}
	return t.IsWord("x", "skip", "unknown", "idk", "na", "unsure", "pass", "blank", "dunno", "xx", "paso", "nose", "cant")
}

// ordinalNear reads which place of the list a note speaks of: "the third", "el último".
func (in *input) ordinalNear(n note, count int, loose []amount) (int, bool) {
	for _, i := range around(n, len(in.tokens)) {
		if k := in.ordinal(i, count); k > 0 && k <= count {
			return k - 1, true
		}
		if k := int(in.valueAt(i)); k > 0 && k <= count && (in.word(i-1, "number", "numero", "no") || in.mark(i-1, "#")) {
			return k - 1, true
		}
		if in.word(i, "other", "otro", "otra", "rest") && len(loose) == count-1 {
			return count - 1, true
		}
	}
	if len(loose) == count-1 && len(loose) > 0 && n.from > loose[len(loose)-1].from {
		return count - 1, true
	}
	return 0, false
}

// around lists the tokens near a note, nearest first.
func around(n note, count int) []int {
	var out []int
	for d := 0; d < 5; d++ {
		if i := n.from - 1 - d; i >= 0 {
			out = append(out, i)
		}
		if i := n.to + d; i < count {
			out = append(out, i)
		}
	}
	return out
}

func (in *input) valueAt(i int) float64 {
	if !in.number(i) {
		return 0
	}
	return in.tokens[i].Value
}
