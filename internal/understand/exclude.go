package understand

import "tubhand/internal/understand/words"

// measured drops the numbers that are no reading of this tub now: targets, earlier
// tests, other waters, hypotheses. It returns what is left, what went, and why.
func (in *input) measured(all []amount, notes []note, clause []int) (kept, dead []amount, dropped sign) {
	elsewhere := in.takenBack(notes)
	notes = withoutWater(notes, elsewhere)
	past := in.sections()
	example := in.ctx.Asked == AskedReadings && in.hasWord("example", "ejemplo")
	flags := make([]sign, len(all))
	for k := range all {
		flags[k] = in.flagsOf(all, k, notes, clause)
	}
	in.spreadTargets(all, flags)
	if past == nil {
		in.spreadFlags(all, flags, notes, clause)
	}
	for k := range all {
		if all[k].to <= elsewhere {
			flags[k] |= signOtherWater
		}
		if past != nil && past[all[k].from] {
			flags[k] |= signOld
		}
		if in.asksTarget(all[k].from) {
			flags[k] |= signTarget
		}
		if example {
			flags[k] |= signHypothetical
		}
	}
	for k, a := range all {
		if flags[k]&notMeasured != 0 {
			dropped |= flags[k]
			dead = append(dead, a)
			continue
		}
		kept = append(kept, a)
	}
	return kept, dead, dropped
}

// withoutWater drops the water named in words that take back what was told before them,
// so that what follows is this tub's.
func withoutWater(notes []note, at int) []note {
	if at == 0 {
		return notes
	}
	kept := make([]note, 0, len(notes))
	for _, n := range notes {
		if n.sign != signOtherWater || n.from < at || n.from > at+8 {
			kept = append(kept, n)
		}
	}
	return kept
}

// takenBack returns up to where "that was the pool" takes back all that was told.
func (in *input) takenBack(notes []note) int {
	for i := range in.tokens {
		if !in.word(i, "that", "those", "ese", "esa", "eso", "esos", "esas", "thats") {
			continue
		}
		k := i + 1
		for k < i+6 && in.word(k, "was", "were", "is", "are", "es", "era", "eran", "son", "fue", "one", "from", "for", "of", "the", "my", "our", "el", "la", "los", "de", "del", "mi") {
			k++
		}
		if k == i+1 && !in.word(i, "thats") {
			continue
		}
		if in.word(k, "pool", "pools", "alberca", "piscina", "tap", "faucet", "llave", "neighbors", "vecino", "vecina", "neighbours") {
			return i
		}
		for _, n := range notes {
			if n.sign == signOtherWater && n.from <= k && k < n.to {
				return i
			}
		}
	}
	return 0
}

// asksTarget knows "what should it be, 7.2 or 7.6?": no number of such a question is measured.
func (in *input) asksTarget(at int) bool {
	start, end := at, at
	for start > 0 && !in.mark(start-1, ".!?;¿") && in.tokens[start-1].Kind != words.Break {
		start--
	}
	for end < len(in.tokens) && !in.mark(end, ".!?;") && in.tokens[end].Kind != words.Break {
		end++
	}
	if !in.mark(end, "?") && !in.mark(start-1, "¿") {
		return false
	}
	for i := start; i < at; i++ {
		if in.word(i, "should", "debe", "deberia", "supposed", "debiera", "ought") {
			return true
		}
	}
	return false
}

// turnsLater reports whether a heading such as "despues" follows one such as "antes".
func (in *input) turnsLater(i int) bool {
	if !in.number(i+1) && !in.number(i+2) && !in.number(i+3) && !in.quantityAt(i+1) {
		return false
	}
	for j := i + 2; j+1 < len(in.tokens); j++ {
		if in.word(j, "after", "despues", "ahora", "now", "hoy") {
			return true
		}
	}
	return false
}

// sections marks the tokens under a heading such as "Before:", up to one such as
// "After:" or "Now:", or returns nil.
func (in *input) sections() []bool {
	var out []bool
	old := false
	for i := range in.tokens {
		if old && in.word(i, "after", "despues", "now", "ahora", "hoy", "today", "luego") {
			old = false
		}
		if in.mark(i+1, ":-=>") || in.turnsLater(i) {
			switch {
			case in.word(i, "before", "antes", "old", "previous", "earlier", "anterior", "anteriores", "yesterday", "ayer"):
				old = true
				if out == nil {
					out = make([]bool, len(in.tokens))
				}
			case in.word(i, "after", "now", "today", "despues", "ahora", "hoy", "current", "new", "currently", "actual", "tonight", "afterwards"):
				old = false
			}
		}
		if out != nil {
			out[i] = old
		}
	}
	return out
}

// spreadTargets carries "ideal is 3 and 7.5" over its "and".
func (in *input) spreadTargets(all []amount, flags []sign) {
	for k := 1; k < len(all); k++ {
		if flags[k-1]&signTarget != 0 && in.word(all[k].from-1, "and", "y", "e") && all[k].from-all[k-1].to <= 4 {
			flags[k] |= signTarget
		}
	}
}

// flagsOf returns what the notes of its clause say about number k.
func (in *input) flagsOf(all []amount, k int, notes []note, clause []int) sign {
	a := all[k]
	here := clause[a.from]
	flags := sign(0)
	for _, n := range notes {
		if clause[n.from] != here && clause[n.to-1] != here && !n.covers(a) {
			continue
		}
		if in.tells(n, all, k, clause) {
			flags |= n.sign
		}
	}
	flags |= in.waterOf(all, k, notes, clause)
	if flags&signCurrent != 0 && !olderThanNow(a, notes, clause) {
		flags &^= signOld | signHypothetical
	}
	if flags&signTub != 0 {
		flags &^= signOtherWater
	}
	return flags
}

// tells reports whether a note of number k's clause speaks of that number.
func (in *input) tells(n note, all []amount, k int, clause []int) bool {
	a := all[k]
	starts := clause[n.from] == clause[a.from]
	switch n.sign {
	case signRejected:
		return n.covers(a) && starts && (k == 0 || !n.covers(all[k-1])) && !(in.word(n.from, "not") && in.word(n.from+1, "quite"))
	case signTime:
		return n.to > a.from && n.to <= a.to && starts
	case signTarget:
		return in.tellsTarget(n, all, k, clause)
	case signDose:
		return n.covers(a) || !in.hasOwnNumber(n) && isNextAfter(all, k, n, clause) && !in.countedBetween(n.from+1, a.from)
	case signHypothetical:
		return n.from < a.from || n.covers(a)
	case signAir:
		return in.tellsAir(n, all, k, clause)
	case signOld:
		return n.from-a.to <= 3 && !(n.from >= a.to && in.leadsOn(n))
	}
	return n.sign == signCurrent
}

// tellsTarget reports whether a note of a wish or an advice speaks of number k.
func (in *input) tellsTarget(n note, all []amount, k int, clause []int) bool {
	if in.asYouSaid(n, all[k]) {
		return false
	}
	return n.covers(all[k]) && clause[n.from] == clause[all[k].from] || !in.hasOwnNumber(n) && isNextAfter(all, k, n, clause) || isLastBefore(all, k, n, clause)
}

// asYouSaid knows "like you said: 7.6", where the number follows a colon.
func (in *input) asYouSaid(n note, a amount) bool {
	return n.from < a.from && (in.mark(a.from, ":") || in.mark(a.from-1, ":")) && in.word(n.from, "you", "u", "they")
}

// tellsAir reports whether a note of the air or the weather speaks of number k.
func (in *input) tellsAir(n note, all []amount, k int, clause []int) bool {
	switch {
	case in.goesOn(n):
		return false
	case n.covers(all[k]):
		return clause[n.to-1] == clause[all[k].from]
	}
	return isNearest(all, k, n, clause)
}

// leadsOn knows "last month it was": the words that follow the note are its own.
func (in *input) leadsOn(n note) bool {
	return in.word(n.to, "it", "was", "we", "i", "they", "had", "era", "estaba", "fue", "salio", "tenia", "marco") && (in.number(n.to+1) || in.number(n.to+2) || in.number(n.to+3))
}

// goesOn reports whether another note of the same sign begins within this one and goes
// on after it: the "outside" of "102 outside it's 45" belongs to what follows.
func (in *input) goesOn(n note) bool {
	for _, o := range in.findNotes() {
		if o.sign == n.sign && o.from >= n.from && o.from < n.to && o.to > n.to {
			return true
		}
	}
	return false
}

// isNearest reports whether no other number of the clause is nearer to the note.
func isNearest(all []amount, k int, n note, clause []int) bool {
	away := func(a amount) int { return max(n.from-a.to, a.from-n.to) }
	for j, a := range all {
		if j != k && clause[a.from] == clause[all[k].from] && away(a) < away(all[k]) {
			return false
		}
	}
	return true
}

// olderThanNow reports whether, of "last month" and "now" in one clause, the former
// stands right after the number: "from 90 last month to 160 now".
func olderThanNow(a amount, notes []note, clause []int) bool {
	for _, n := range notes {
		if n.sign == signOld && n.from >= a.to && n.from-a.to <= 1 && clause[n.from] == clause[a.from] {
			return true
		}
	}
	return false
}

func (n note) covers(a amount) bool {
	return n.from <= a.from && a.from < n.to || n.from < a.to && a.to <= n.to
}

// isNextAfter reports whether number k is the first in its clause after the note.
func isNextAfter(all []amount, k int, n note, clause []int) bool {
	if all[k].from < n.to || all[k].from-n.to > 6 {
		return false
	}
	return k == 0 || all[k-1].from < n.from || clause[all[k-1].from] != clause[all[k].from]
}

// hasOwnNumber reports whether the note already holds the number it speaks of.
func (in *input) hasOwnNumber(n note) bool {
	for i := n.from; i < n.to; i++ {
		if in.number(i) {
			return true
		}
	}
	return false
}

// countedBetween reports whether what was put in is told by another number or is no
// matter of the number after it: "dumped in 5 scoops and the strip is at 10", "le pongo
// con ph 6.8".
func (in *input) countedBetween(from, to int) bool {
	for i := from; i < to; i++ {
		if in.number(i) || in.quantityAt(i) {
			return true
		}
	}
	return in.turnsBetween(from, to)
}

// turnsBetween reports whether the talk turns from what was put in to what is read.
func (in *input) turnsBetween(from, to int) bool {
	for i := from; i < to; i++ {
		if in.word(i, "and", "y", "then", "now", "ya", "ahora", "it", "its", "reads", "is", "subio", "bajo", "sale", "marca", "luego", "after", "got", "get", "quedo", "esta", "shows", "says") {
			return true
		}
	}
	return false
}

// isLastBefore reports whether number k stands right before a note that no number
// follows in the clause: "7.6 is the goal".
func isLastBefore(all []amount, k int, n note, clause []int) bool {
	if all[k].to > n.from || n.from-all[k].to > 4 {
		return false
	}
	if k+1 < len(all) && clause[all[k+1].from] == clause[all[k].from] {
		return false
	}
	return true
}

// waterOf finds which water number k speaks of in its clause: the last one named
// before it, or, where numbers come first, the next one named after.
func (in *input) waterOf(all []amount, k int, notes []note, clause []int) sign {
	a := all[k]
	before, after := sign(0), sign(0)
	for _, n := range notes {
		if n.sign != signOtherWater && n.sign != signTub || clause[n.from] != clause[a.from] || n.sign == signTub && withinOther(n, notes) {
			continue
		}
		if n.from < a.from {
			before = n.sign
		} else if after == 0 {
			after = n.sign
		}
	}
	if before != 0 {
		return before
	}
	if after == 0 {
		return in.waterEarlier(a, notes)
	}
	return after
}

// withinOther knows the tub in "old tub" and "brother's tub", which is not this one.
func withinOther(tub note, notes []note) bool {
	for _, n := range notes {
		if n.sign == signOtherWater && n.from <= tub.from && tub.to <= n.to {
			return true
		}
	}
	return false
}

// waterEarlier finds the water named last before the number in its sentence.
func (in *input) waterEarlier(a amount, notes []note) sign {
	found := sign(0)
	for _, n := range notes {
		if (n.sign == signOtherWater || n.sign == signTub && !withinOther(n, notes)) && n.to <= a.from && in.sentenceBreaks(n.to, a.from) == 0 {
			found = n.sign
		}
	}
	return found
}

// spreadFlags carries "last week" and "the pool" over the commas of their sentence
// until "now" or "the tub" ends them.
func (in *input) spreadFlags(all []amount, flags []sign, notes []note, clause []int) {
	carried := sign(0)
	for k := range all {
		if k > 0 && clause[all[k].from]-clause[all[k-1].from] > 1 {
			carried = 0
		}
		if flags[k]&signCurrent != 0 {
			carried &^= signOld
		}
		if flags[k]&signTub != 0 {
			carried = 0
		}
		if k > 0 && in.sentenceBreaks(all[k-1].to, all[k].from) > 0 && all[k].from-all[k-1].to > 1 {
			carried = 0
		}
		own := flags[k] & (signOld | signOtherWater)
		if own == 0 {
			flags[k] |= carried
			continue
		}
		if leads(all[k], notes, clause, own) {
			carried |= own
		}
	}
}

// leads reports whether a note of the given signs stands before the number.
func leads(a amount, notes []note, clause []int, own sign) bool {
	for _, n := range notes {
		if n.sign&own != 0 && n.from < a.from && clause[n.from] == clause[a.from] {
			return true
		}
	}
	return false
}
