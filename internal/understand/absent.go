package understand

// takeZeros reads "no chlorine at all", "chlorine none", "nada de cloro" as 0. The
// sanitizers alone: nobody means 0 by "no pH".
func (in *input) takeZeros(f *found, names []name, taken map[int]bool, notes []note) {
	for k, n := range names {
		if taken[k] || !canBeNothing(n.quantity) || in.unknownNear(n, notes) {
			continue
		}
		if in.saysNone(n) {
			taken[k] = true
			f.attempt = true
			f.readings[n.quantity] = Value{}
		}
	}
}

func canBeNothing(q Quantity) bool {
	switch q {
	case PH, WaterTemp, TDS:
		return false
	}
	return true
}

func (in *input) saysNone(n name) bool {
	if in.word(n.to, "left", "test", "strip", "strips", "on", "reading", "pad", "smell", "here", "at") && !in.word(n.to+1, "all") {
		return false
	}
	for i := n.from - 1; i >= 0 && i >= n.from-4; i-- {
		switch {
		case in.word(i, "no", "zero", "zip", "nada", "cero", "sin", "ningun", "zilch", "nil", "nothing", "ni") && !in.word(i-1, "had", "has"):
			return true
		case in.word(i, "of", "de", "free", "the", "for", "el", "on", "hay", "marca", "tiene", "sale", "any", "in", "total", "measurable", "detectable"):
		default:
			return false
		}
	}
	for i := n.to; i < len(in.tokens) && i < n.to+4; i++ {
		switch {
		case in.word(i, "none", "nothing", "zip", "zilch", "nada", "nil", "ninguno", "nothin", "nonexistent", "zippo", "ninguna"):
			return true
		case in.word(i, "is", "es", "was", "reads", "shows", "says", "marca", "level", "no", "sale", "salio", "at", "a", "reading", "dice") || in.mark(i, ":=-"):
		default:
			return false
		}
	}
	return false
}

func (in *input) unknownNear(n name, notes []note) bool {
	for _, x := range notes {
		if x.sign == signUnknown && x.from <= n.to+4 && x.to >= n.from-4 {
			return true
		}
	}
	return false
}

// takeUnknown marks as unknown what the owner says could not be read: the quantity
// named nearest to those words, or everything asked where nothing is named.
func (in *input) takeUnknown(f *found, names []name, taken map[int]bool, numbers []amount, notes []note, clause []int) {
	for _, x := range notes {
		if x.sign != signUnknown {
			continue
		}
		best, distance := -1, 12
		for k, n := range names {
			if taken[k] || in.sentenceBreaks(min(x.from, n.from), max(x.to, n.to)) > 0 {
				continue
			}
			if d := gap(x, n); d < distance {
				best, distance = k, d
			}
		}
		if best < 0 {
			continue
		}
		taken[best] = true
		if q := names[best].quantity; f.readings[q] == (Value{}) {
			if _, ok := f.readings[q]; !ok {
				f.readings[q] = Value{Unknown: true}
				f.attempt = true
			}
		}
		in.takeTogether(f, names, taken, best)
	}
	if len(names) == 0 && len(numbers) == 0 && in.ctx.Asked == AskedReadings && in.sayNothingReadable(notes) {
		for _, q := range in.ctx.AskedReadings {
			f.readings[q] = Value{Unknown: true}
		}
		f.attempt = true
	}
}

// takeTogether spreads "unknown" over "ph and alk".
func (in *input) takeTogether(f *found, names []name, taken map[int]bool, k int) {
	for _, j := range [...]int{k - 1, k + 1} {
		if j < 0 || j >= len(names) || taken[j] {
			continue
		}
		a, b := names[min(j, k)], names[max(j, k)]
		if b.from-a.to == 1 && in.word(a.to, "and", "or", "y", "ni", "nor", "o") {
			taken[j] = true
			f.readings[names[j].quantity] = Value{Unknown: true}
		}
	}
}

func gap(x note, n name) int {
	if x.from >= n.to {
		return x.from - n.to
	}
	return max(0, n.from-x.to)
}

// sayNothingReadable wants words about the strip or its colours beside "can't": alone,
// "can't do it now" says nothing of what could be read.
func (in *input) sayNothingReadable(notes []note) bool {
	for _, x := range notes {
		if x.sign != signUnknown {
			continue
		}
		for i := x.from; i < x.to; i++ {
			if in.word(i, "read", "tell", "see", "make", "decipher", "match", "unreadable", "illegible", "smudged", "smeared", "ran", "bled", "leer", "ver", "distinguir",
				"distingo", "distingue", "saber", "ilegible", "borroso", "idea", "clue", "inconclusive", "unclear", "ruined", "bleeding", "run", "blended", "nota", "alcanza", "borro", "mojo", "revolvieron", "corrieron", "reading", "dunno", "idk", "know", "unknown", "wet", "se", "ve") {
				return true
			}
		}
	}
	return false
}
