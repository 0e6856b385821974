package understand

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
	switch {
	case in.halfAlone(start, i):
	case in.word(i+1, "ppm", "part"):
		a.to++
	case in.word(i+1, "a") && in.word(i+2, "ppm", "part"):
		a.to += 2
	case in.word(i+1, "de", "of", "to") && (in.quantityAt(i+2) || in.number(i+2)), in.halfNamed(start, i):
	default:
		return amount{}, false
	}
	return a, true
}

// halfAlone knows "a half" as the whole answer, and "like a half" at the end of a clause.
func (in *input) halfAlone(start, i int) bool {
	if !in.endsClause(i) {
		return false
	}
	if in.ctx.Asked == AskedReadings && (start == 0 && len(in.ctx.AskedReadings) == 1 || in.word(start-1, "than", "under", "de", "is", "at")) {
		return true
	}
	return in.word(start-1, "like", "about", "maybe", "como", "around") && in.ctx.Asked != AskedVolume && in.ctx.Asked != AskedTime
}

// halfNamed knows "chlorine half" before the end of its clause or another reading.
func (in *input) halfNamed(start, i int) bool {
	_, named := in.nameBefore(start)
	return named && (in.endsClause(i) || in.word(i+1, "to", "a", "or", "o", "and", "y", "ph", "alk", "alkalinity"))
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
