package understand

import (
	"tubhand/internal/understand/words"
)

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
		return in.placeBegins(i)
	}
	lastOfAnd := in.word(i-1, "and", "y") && in.number(i-2) && i+1 >= len(in.tokens)
	if !in.placeBegins(i) && !lastOfAnd || !in.placeEnds(i) {
		return false
	}
	switch {
	case t.IsMark("?"):
		return i+1 < len(in.tokens) || in.number(i-1) && !t.Glued || in.mark(i-1, ",") || lastOfAnd
	case t.IsMark("-"):
		return !t.Glued && i > 0 && in.mark(i-1, ",/") && (i+1 >= len(in.tokens) || in.mark(i+1, ",/"))
	}
	return t.IsWord("x", "skip", "unknown", "idk", "na", "unsure", "pass", "blank", "dunno", "xx", "paso", "nose", "cant")
}

// placeBegins and placeEnds report whether a place of a list begins or ends at token i.
func (in *input) placeBegins(i int) bool {
	return i == 0 || in.number(i-1) || in.mark(i-1, ",/-") || in.tokens[i-1].Kind == words.Break
}

func (in *input) placeEnds(i int) bool {
	return i+1 >= len(in.tokens) || in.number(i+1) || in.mark(i+1, ",/-") || in.tokens[i+1].Kind == words.Break
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

// takePlaces reads a row in which words stand in the place of a number, "purple, 7.6,
// 110": as many places between commas or lines as readings asked for, each with a number
// or with words of quality, of which the numbers are taken and the rest is asked.
func (in *input) takePlaces(f *found, open []Quantity, loose []amount, notes []note) bool {
	start, k, place := 0, 0, 0
	given := make([]amount, 0, len(loose))
	at := make([]int, 0, len(loose))
	for i := 0; i <= len(in.tokens); i++ {
		if i < len(in.tokens) && !in.mark(i, ",;/") && in.tokens[i].Kind != words.Break {
			continue
		}
		switch {
		case i == start:
			return false
		case k < len(loose) && loose[k].from < i:
			given, at = append(given, loose[k]), append(at, place)
			k++
		case !in.wordsOfQuality(start, i, notes):
			return false
		}
		if k < len(loose) && loose[k].from < i {
			return false
		}
		place++
		start = i + 1
	}
	if place != len(open) || k != len(loose) {
		return false
	}
	for j, p := range at {
		if fitCost(open[p], given[j]) >= 1 {
			return false
		}
	}
	for j, p := range at {
		in.store(f, open[p], given[j])
	}
	f.ask("words where a number is needed")
	return true
}

// wordsOfQuality reports whether a colour or a word of quality stands at [from,to).
func (in *input) wordsOfQuality(from, to int, notes []note) bool {
	for _, n := range notes {
		if (n.sign == signQuality || n.sign == signColour) && n.from >= from && n.to <= to {
			return true
		}
	}
	return false
}

// settleDescribed knows "bromine's good, 7.4, 100": a name with words of quality in its
// own place of a list, of which the other places are the other readings asked for.
func (in *input) settleDescribed(f *found, names []name, numbers []amount, notes []note) map[int]bool {
	out := map[int]bool{}
	if in.ctx.Asked != AskedReadings || len(numbers)+len(names) != len(in.ctx.AskedReadings) {
		return out
	}
	for _, a := range numbers {
		if a.from > 0 && !in.mark(a.from-1, ",;/") && in.tokens[a.from-1].Kind != words.Break && !in.word(a.from-1, "and", "y") {
			return out
		}
	}
	for k, n := range names {
		end := n.to
		for end < len(in.tokens) && !in.mark(end, ",;") && in.tokens[end].Kind != words.Break && !in.number(end) {
			end++
		}
		if !in.asks(n.quantity) || in.number(end) || end == len(in.tokens) || !in.wordsOfQuality(n.to, end, notes) {
			return map[int]bool{}
		}
		out[k] = true
	}
	for k := range out {
		if f.worded == nil {
			f.worded = map[Quantity]bool{}
		}
		f.worded[names[k].quantity] = true
		f.ask("words where a number is needed")
	}
	return out
}
