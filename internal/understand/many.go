package understand

import "math"

// takeOfMany handles more numbers than readings asked: one may repeat the other.
func (in *input) takeOfMany(f *found, open []Quantity, loose []amount) {
	if len(open) > 1 {
		loose = in.oneRow(open, loose)
	}
	switch {
	case len(open) == len(loose):
		in.takeList(f, open, loose, nil)
	case len(open) > 1:
		f.ask("more numbers than were asked for")
	default:
		in.takeOneOf(f, open[0], loose)
	}
}

// oneRow finds among too many numbers the row that answers: "3 7.4 90 and don't text
// after 9", or the last of two rows where the text says that it tested again.
func (in *input) oneRow(open []Quantity, loose []amount) []amount {
	n := len(open)
	if len(loose) > n && len(loose) < 2*n && in.inRow(loose[:n]) && !in.inRow(loose[n-1:n+1]) && allFit(open, loose[:n]) {
		return loose[:n]
	}
	if len(loose) == 2*n && saidTwice(loose) {
		once := make([]amount, 0, n)
		for k := 0; k < len(loose); k += 2 {
			once = append(once, loose[k])
		}
		return once
	}
	if len(loose) == 2*n && in.hasWord("was", "were", "before", "antes", "ayer", "yesterday", "era", "estaba", "morning", "manana") && in.hasWord("afternoon", "evening", "tonight", "tarde", "noche", "now", "after", "its", "ahora", "hoy", "today", "despues") && allFit(open, loose[n:]) {
		return loose[n:]
	}
	if len(loose) == 2*n && allFit(open, loose[n:]) {
		for _, x := range in.findNotes() {
			if x.sign == signCorrection && x.from >= loose[n-1].to && x.from <= loose[n].from {
				return loose[n:] // "4, 7.6, 110. Actually 5, 7.6, 110"
			}
		}
	}
	if len(loose) == 2*n && in.hasWord("second", "last", "latest", "again", "another", "retest", "redid", "segunda", "ultima", "otra") {
		return loose[n:]
	}
	return loose
}

// saidTwice knows "7.6, 7.6. 130, 130.": each number stands twice.
func saidTwice(loose []amount) bool {
	for k := 0; k+1 < len(loose); k += 2 {
		if loose[k].value != loose[k+1].value {
			return false
		}
	}
	return true
}

// takeOneOf finds the one reading asked for among several numbers.
func (in *input) takeOneOf(f *found, q Quantity, loose []amount) {
	fitting := in.sinceNow(fittingOnce(q, loose))
	if len(fitting) > 1 && in.tellsCourse() {
		fitting = fitting[len(fitting)-1:]
	}
	switch {
	case q == PH && isSlip(loose):
		f.ask("a slip in the figures")
		f.propose(q, math.Round(10*first(loose[0].value)+first(loose[1].value))/10)
	case q == WaterTemp && len(fitting) == 2 && in.twoThermometers():
		in.takeHotter(f, fitting)
	case q == WaterTemp && len(fitting) > 0:
		for _, a := range fitting {
			in.store(f, q, a)
		}
	case len(fitting) == 1:
		in.store(f, q, fitting[0])
	case len(fitting) == 2 && fitting[0].bounded && within(fitting[1].value, fitting[0].value):
		in.store(f, q, fitting[0])
	case len(fitting) == 2 && in.areNeighbours(fitting[0], fitting[1]):
		if r, ok := joinEnds(fitting[0], fitting[1]); ok {
			in.store(f, q, r)
			if in.twoEyes() {
				f.ask("two values of one reading")
			}
			return
		}
		f.ask("more numbers than were asked for")
	default:
		f.ask("more numbers than were asked for")
	}
}

// takeHotter takes the higher of what two thermometers show, and asks.
func (in *input) takeHotter(f *found, shown []amount) {
	for _, a := range shown {
		in.store(f, WaterTemp, a)
	}
	f.ask("two thermometers that differ")
}

// settleThermometers takes the higher of two numbers that a panel and a thermometer show.
func (in *input) settleThermometers(f *found, numbers []amount) []amount {
	if !in.asks(WaterTemp) || !in.twoThermometers() {
		return numbers
	}
	var shown, others []amount
	for _, a := range numbers {
		if x := first(convert(WaterTemp, a)); x >= 50 && x <= 125 && fitCost(WaterTemp, a) < 1 {
			shown = append(shown, a)
		} else {
			others = append(others, a)
		}
	}
	if len(shown) != 2 || shown[0].value == shown[1].value || shown[0].bounded || shown[1].bounded {
		return numbers
	}
	in.takeHotter(f, shown)
	return others
}

// within reports whether x is one number inside a range.
func within(x, of Value) bool {
	return x.Low == x.High && !x.OpenLow && !x.OpenHigh && (of.OpenLow || x.Low >= of.Low) && (of.OpenHigh || x.Low <= of.High)
}

// sinceNow keeps the last number where "now" leads it: "8.2 this morning, now 7.8".
func (in *input) sinceNow(fitting []amount) []amount {
	last := len(fitting) - 1
	if last < 1 {
		return fitting
	}
	if in.word(fitting[last].to, "now", "ahora", "ahorita") && !in.word(fitting[last].to+1, "from", "de", "desde", "vs") {
		return fitting[last:]
	}
	for i := fitting[last].from - 1; i >= fitting[last-1].to && i >= fitting[last].from-4; i-- {
		if in.word(i+1, "from", "de", "desde", "vs") {
			return fitting
		}
		if in.word(i, "now", "ahora", "ahorita", "currently", "today", "hoy") {
			return fitting[last:]
		}
	}
	return fitting
}

// fittingOnce lists the numbers that the quantity can have, without repetitions in a row.
func fittingOnce(q Quantity, loose []amount) []amount {
	var out []amount
	for _, a := range loose {
		if fitCost(q, a) < 1 && (len(out) == 0 || out[len(out)-1].value != a.value) {
			out = append(out, a)
		}
	}
	return out
}

// isSlip knows "7;4" and "7 / 4", two single figures side by side.
func isSlip(loose []amount) bool {
	if len(loose) != 2 || len(loose[0].figures) != 1 || len(loose[1].figures) != 1 || loose[1].from-loose[0].to > 1 {
		return false
	}
	x := first(loose[0].value)
	return x >= 6 && x <= 8
}

// areNeighbours reports whether two numbers close by are neighbours on a chart.
func (in *input) areNeighbours(a, b amount) bool {
	if !sameStep(first(a.value), first(b.value)) {
		return false
	}
	for i := a.to; i < b.from; i++ {
		if in.word(i, "says", "reads", "dice", "marca", "shows") {
			return false // two instruments
		}
	}
	clause := in.clauses()
	return b.from-a.to <= 3 && clause[a.from] == clause[b.from] || in.hasWord("medio", "middle", "between", "entre")
}
