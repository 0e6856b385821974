package understand

// markCorrections applies "7.2 no wait 7.4": a number after such words takes the place
// of the one it corrects, unless it is named itself, when the later of two values of
// one quantity wins anyway.
func (in *input) applyCorrections(numbers []amount, names []name, notes []note) []amount {
	if asked := len(in.ctx.AskedReadings); asked > 1 && len(numbers) == 2*asked && len(names) == 0 && allFit(in.ctx.AskedReadings, numbers[asked:]) {
		return numbers // two whole tests: the later row counts
	}
	numbers = in.prefer(in.renamed(numbers))
	out := make([]amount, 0, len(numbers))
	for k, a := range numbers {
		if k > 0 && in.deniesProposed(a) || k == 0 && in.deniedFirst(numbers) {
			continue
		}
		if k == 0 || len(out) == 0 || !corrected(numbers[k-1], a, notes) || in.namedItself(numbers, k, names, notes) {
			out = append(out, a)
			continue
		}
		at := in.correctedBy(out, a)
		if at < 0 {
			out = append(out, a)
			continue
		}
		if a.unit == noUnit {
			a.unit = out[at].unit
		}
		a.from, a.to = out[at].from, out[at].to
		out[at] = a
	}
	return out
}

// renamed applies "2 and 7.4 ... the 2 is a 4": a number told again and said to be another.
func (in *input) renamed(numbers []amount) []amount {
	for k := 2; k < len(numbers); k++ {
		old, a := numbers[k-1], numbers[k]
		i := old.to
		if !in.word(old.from-1, "the", "that", "el", "ese") || !in.word(i, "is", "was", "es", "era", "should") || a.from-i > 4 || in.sentenceBreaks(old.to, a.from) > 0 {
			continue
		}
		for j := range k - 1 {
			if numbers[j].value == old.value && !a.bounded {
				numbers[j].value, numbers[j].figures = a.value, a.figures
				return append(numbers[:k-1:k-1], numbers[k+1:]...)
			}
		}
	}
	return numbers
}

func corrected(before, a amount, notes []note) bool {
	for _, n := range notes {
		if n.sign == signCorrection && n.from >= before.to && n.from < a.to && n.to <= a.to {
			return true
		}
	}
	return false
}

// namedItself reports whether a name stands between the correcting words and number k,
// or right after it.
func (in *input) namedItself(numbers []amount, k int, names []name, notes []note) bool {
	for _, n := range names {
		if n.from >= numbers[k-1].to && n.to <= numbers[k].from && afterCorrection(n, numbers[k-1], notes) {
			return true
		}
		after := n.from - numbers[k].to
		if after >= 0 && after <= 3 && in.backwardCost(numbers[k].to, n.from) < 0 {
			return true
		}
	}
	return false
}

func afterCorrection(n name, before amount, notes []note) bool {
	for _, x := range notes {
		if x.sign == signCorrection && x.from >= before.to && x.from <= n.from {
			return true
		}
	}
	return false
}

// deniedFirst knows the first number of "no 500, son 325".
func (in *input) deniedFirst(numbers []amount) bool {
	return len(numbers) == 2 && numbers[0].from == 1 && in.word(0, "no", "not") && in.word(numbers[1].from-1, "son", "es", "its", "sino", "is", "but") && sameSize(numbers[0].value, numbers[1].value)
}

// deniesProposed knows the second number of "mil litros, no 500 galones", which only
// repeats what was proposed.
func (in *input) deniesProposed(a amount) bool {
	if in.ctx.Asked != AskedConfirm || !in.word(a.from-1, "no", "not") {
		return false
	}
	for _, x := range in.ctx.Proposed {
		if near(first(a.value), x) {
			return true
		}
	}
	return false
}

// correctedBy is corrects, but where one reading was asked for that both numbers can be
// they need not be alike: "ten, no, one point zero".
func (in *input) correctedBy(earlier []amount, a amount) int {
	if at := corrects(earlier, a); at >= 0 || len(in.ctx.AskedReadings) != 1 {
		return at
	}
	q, last := in.ctx.AskedReadings[0], len(earlier)-1
	if fitCost(q, earlier[last]) < 1 && fitCost(q, a) < 1 {
		return last
	}
	return -1
}

// corrects finds which earlier number is meant: the last of the same size, or of two
// that can be volumes, or -1.
func corrects(earlier []amount, a amount) int {
	for k := len(earlier) - 1; k >= 0 && k >= len(earlier)-5; k-- {
		if sameSize(earlier[k].value, a.value) {
			return k
		}
	}
	if last := len(earlier) - 1; first(earlier[last].value) >= 40 && first(a.value) >= 40 {
		return last
	}
	return -1
}

func sameSize(a, b Value) bool {
	x, y := first(a), first(b)
	if x <= 15 && y <= 15 {
		return (x >= 6) == (y >= 6) || x == 0 || y == 0
	}
	if x <= 0 || y <= 0 {
		return false
	}
	r := x / y
	return r > 0.33 && r < 3 || r > 9.9 && r < 10.1 || r > 0.099 && r < 0.101
}

func first(v Value) float64 {
	if e := v.ends(); len(e) > 0 {
		return e[0]
	}
	return 0
}
