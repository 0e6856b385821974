package understand

import "tubhand/internal/understand/words"

// sign is a set of things the words around a number say about it.
type sign uint16

const (
	signTarget sign = 1 << iota
	signOld
	signCurrent
	signOtherWater
	signTub
	signHypothetical
	signDose
	signUnknown
	signQuality
	signCorrection
	signRejected
	signTime
	signGuess
	signAir
	signBeyond
	signColour
)

// notMeasured are the signs that make a number no reading of this tub now.
const notMeasured = signTarget | signOld | signOtherWater | signHypothetical | signDose | signRejected | signTime | signAir

// note is one sign found at tokens [from,to).
type note struct {
	sign     sign
	from, to int
}

// notes finds the signs of cues/numbers.cue, in order of place.
func (in *input) findNotes() []note {
	if in.notes != nil {
		return in.notes
	}
	hits := loadCues().numbers.FindAll(in.cueText())
	out := make([]note, 0, len(hits)+1)
	for _, h := range hits {
		if h.End <= h.Start {
			continue
		}
		out = append(out, note{signOf(h.Pattern.Label), in.place[h.Start], in.place[h.End-1] + 1})
	}
	in.outdateMorning(out)
	in.notes = out
	return out
}

// outdateMorning makes "this morning" an earlier time where "now" comes after it.
func (in *input) outdateMorning(notes []note) {
	for k := range notes {
		n := &notes[k]
		if n.sign != signCurrent || !in.word(n.to-1, "morning", "manana") {
			continue
		}
		for i := n.to; i < len(in.tokens); i++ {
			if in.word(i, "now", "ahora", "ahorita", "tonight") {
				n.sign = signOld
			}
		}
	}
}

func signOf(label string) sign {
	switch label {
	case "target":
		return signTarget
	case "old":
		return signOld
	case "current":
		return signCurrent
	case "other_water":
		return signOtherWater
	case "tub":
		return signTub
	case "hypothetical":
		return signHypothetical
	case "dose":
		return signDose
	case "unknown":
		return signUnknown
	case "quality":
		return signQuality
	case "rejected":
		return signRejected
	case "time":
		return signTime
	case "air":
		return signAir
	case "colour":
		return signColour
	case "beyond":
		return signBeyond
	case "guess":
		return signGuess
	}
	return signCorrection
}

// clauses numbers each token's clause: they end at commas, sentence signs, brackets,
// and before words that turn ("but", "now", "today").
func (in *input) clauses() []int {
	out := make([]int, len(in.tokens)+1)
	current := 0
	for i, t := range in.tokens {
		switch {
		case t.IsMark(",;.!?()[]"), t.Kind == words.Break:
			current++
			out[i] = current
			continue
		case t.IsWord("but", "pero", "now", "ahora", "ahorita", "today", "hoy", "though", "while", "tonight", "also", "tambien", "btw") && i > 0 && !in.endsClause(i):
			current++
		case t.IsMark("-") && !t.Glued && i+1 < len(in.tokens) && in.tokens[i+1].Kind == words.Word:
			current++
		}
		out[i] = current
	}
	out[len(in.tokens)] = current
	return out
}

// endsClause reports whether nothing but a sign follows token i: "7.4 now".
func (in *input) endsClause(i int) bool {
	return i+1 >= len(in.tokens) || in.mark(i+1, ",;.!?()") || in.tokens[i+1].Kind == words.Break
}

// sentenceBreaks counts the sentence ends between two tokens.
func (in *input) sentenceBreaks(from, to int) int {
	n := 0
	for i := max(from, 0); i < to && i < len(in.tokens); i++ {
		if (in.mark(i, ".!?;") || in.tokens[i].Kind == words.Break) && !(i > from && in.mark(i-1, ".!?;")) {
			n++
		}
	}
	return n
}
