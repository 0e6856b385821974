package understand

// rangeEnd reads the second end of a range that began with a.
func (in *input) rangeEnd(a amount, between bool) (amount, bool) {
	i := a.to
	if in.isTenthSpoken(a) {
		return amount{}, false // "seven six maybe seven eight"
	}
	if in.mark(i, "?") && in.word(i+1, "or", "o") {
		a.to++
		i++
	}
	n := in.connector(a, between)
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
	if between && b.unit == otherUnit && a.unit == noUnit && in.word(b.to-1, "squares", "colors", "colours", "blocks", "boxes", "pads", "shades", "ones", "cuadritos", "cuadros", "marks", "lines") {
		b.unit = noUnit
	}
	if !ok || b.unit == otherUnit && a.unit == noUnit && !in.word(i, "a", "to", "or", "-") {
		return amount{}, false
	}
	return joinEnds(a, b)
}

// isTenthSpoken knows the "six" of "seven six" where a pH was asked for.
func (in *input) isTenthSpoken(a amount) bool {
	if !in.asks(PH) || !isDigit(a) || !in.number(a.from-1) {
		return false
	}
	t := in.tokens[a.from-1]
	return t.Spelled && t.Value >= 6 && t.Value <= 8 && t.Value == float64(int(t.Value))
}

// connector returns how many tokens join number a to a second end of its range, or 0.
func (in *input) connector(a amount, between bool) int {
	i := a.to
	if i < len(in.tokens) && in.tokens[i].Glued && in.tokens[i].Raw == "A" {
		return 0 // amperes
	}
	switch {
	case between && (in.word(i, "and", "y", "to", "a", "n", "or", "o", "e") || in.mark(i, "&")), in.word(i, "to", "thru", "through", "a", "hasta", "til"):
		return 1
	case in.word(i, "down", "up", "back") && in.word(i+1, "to"):
		return 2
	case in.mark(i, "-~") && in.dashIsRange(i, between), in.mark(i, "/") && in.slashIsRange(a, i):
		return 1
	}
	return in.alternative(i)
}

// alternative returns how many tokens of doubt join two values: "or maybe", "tal vez",
// "but might be", ", maybe".
func (in *input) alternative(i int) int {
	switch {
	case in.word(i, "or", "o", "maybe", "quizas", "quiza", "possibly"):
		return 1 + btoi(in.word(i+1, "maybe", "like", "possibly", "more") && in.number(i+2))
	case in.mark(i, ",") && in.word(i+1, "maybe", "possibly", "quizas", "perhaps") && in.number(i+2) && len(in.ctx.AskedReadings) <= 1:
		return 2
	case in.word(i, "tal", "could", "might", "puede") && in.word(i+1, "vez", "be", "que", "ser"):
		return 2
	case in.word(i, "but", "pero") && in.word(i+1, "could", "might", "maybe", "puede", "podria") && in.word(i+2, "be", "ser"):
		return 3
	case in.word(i, "pero", "but") && in.word(i+1, "maybe", "quizas"):
		return 2
	}
	return 0
}

// sameStep reports whether "a or b" can be two neighbouring colours of a chart.
func sameStep(a, b float64) bool {
	low, high := min(a, b), max(a, b)
	if high-low == 100 && low < 100 && int(low)%100 != 0 {
		return false // "90 o 190": which of two figures it is, no two colours
	}
	switch {
	case low >= 6 && high <= 9:
		return high-low < 0.65
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
	switch {
	case between:
		return true
	case !in.number(i-1) || !in.number(i+1):
		return in.number(i+1) && in.tokens[i].Glued // a unit before the dash
	case in.spokenPH(i-1, i+1), in.isSlipOfPoint(i):
		return false
	case in.tokens[i].Glued && in.tokens[i+1].Glued && in.looseDashes() > 0:
		return true
	case in.mark(i-2, "-") && in.number(i-3), in.mark(i+2, "-") && in.number(i+3):
		return false
	}
	return !in.listFits()
}

// isSlipOfPoint knows "7-4" of a pH, which is 7.4 with a slip and no range.
func (in *input) isSlipOfPoint(i int) bool {
	a, b := in.tokens[i-1], in.tokens[i+1]
	return in.asks(PH) && len(in.ctx.AskedReadings) == 1 && len(a.Text) == 1 && len(b.Text) == 1 && b.Value < max(6, a.Value)
}

// looseDashes counts the dashes between numbers that have a space beside them.
func (in *input) looseDashes() int {
	loose := 0
	for j := 1; j+1 < len(in.tokens); j++ {
		if in.mark(j, "-") && in.number(j-1) && in.number(j+1) && (!in.tokens[j].Glued || !in.tokens[j+1].Glued) {
			loose++
		}
	}
	return loose
}

// spokenPH reports whether the figures in words at i and j can be a pH with its tenth:
// "seven-eight".
func (in *input) spokenPH(i, j int) bool {
	a, b := in.tokens[i], in.tokens[j]
	return in.asks(PH) && a.Spelled && b.Spelled && a.Value >= 6 && a.Value <= 8 && a.Value == float64(int(a.Value)) && b.Value <= 9 && b.Value == float64(int(b.Value))
}

// severalNames reports whether a row of names stands before: "cl/ph 3/7.4".
func (in *input) severalNames(i int) bool {
	n, ok := in.nameBefore(i)
	return ok && in.mark(n.from-1, "/&+") && in.nameEndsAt(n.from-1)
}

func (in *input) nameEndsAt(i int) bool {
	_, ok := in.nameBefore(i)
	return ok
}

// slashIsRange reads "7.2/7.4" as a range where one reading was asked for or named.
func (in *input) slashIsRange(a amount, i int) bool {
	if !in.number(i+1) || in.mark(i+2, "/") || in.mark(a.from-1, "/") || in.listFits() || in.severalNames(a.from) {
		return false
	}
	low, high := a.value.Low, in.tokens[i+1].Value
	if low >= 6 && high <= 9 {
		return high > low && high-low < 0.45
	}
	return low > 0 && high > low && high/low < 3
}
