package understand

import (
	"strings"

	"tubhand/internal/understand/cue"
	"tubhand/internal/understand/words"
)

// input is one text made ready: cleaned, without quoted mail, cut into tokens, and as
// atoms (words, number and sentence marks) for the cues.
type input struct {
	ctx       Context
	text      string
	tokens    []words.Token
	atoms     []string
	means     [][]uint8    // for each atom its concepts
	place     []int        // for each atom the token it came from
	listed    map[int]bool // the tokens that number a list: "1)", "b."
	named     []name       // the quantity named at each token, looked for once
	corrected bool         // a number told before is taken back
	notes     []note       // what the words say of the numbers, looked for once
}

func prepare(text string, ctx Context) input {
	in := input{ctx: ctx, text: words.WithoutQuotes(words.Clean(text))}
	in.tokens = shortened(words.Tokens(in.text))
	in.listed = in.enumerators()
	in.makeAtoms()
	in.makeConcepts()
	if ctx.Asked == AskedConfirm && len(ctx.AskedReadings) == 0 {
		in.ctx.AskedReadings = proposedQuantities(ctx.Proposed)
	}
	return in
}

// What is read of a very long text, in tokens: its start, and its end, where a mail may
// come to the point. A text message has a hundred.
const mostFirst, mostLast = 260, 120

func shortened(tokens []words.Token) []words.Token {
	if len(tokens) <= mostFirst+mostLast {
		return tokens
	}
	return append(tokens[:mostFirst:mostFirst], tokens[len(tokens)-mostLast:]...)
}

func (in *input) makeAtoms() {
	in.atoms = make([]string, 0, len(in.tokens))
	in.place = make([]int, 0, len(in.tokens))
	for i, t := range in.tokens {
		switch t.Kind {
		case words.Word, words.Emoji:
			in.addAtom(t.Text, i)
		case words.Number, words.Clock, words.Date:
			in.addAtom(cue.NumberAtom, i)
		case words.Break:
			in.addBreak(i)
		case words.Mark:
			if strings.Contains(".!?;", t.Text) {
				in.addBreak(i)
			}
		}
	}
}

// makeConcepts finds the concepts of the first atoms; a text message has far fewer.
func (in *input) makeConcepts() {
	known := loadConcepts()
	n := min(len(in.atoms), mostAtoms)
	in.means = make([][]uint8, n)
	pool := make([]uint8, 0, 2*n+16)
	for i, a := range in.atoms[:n] {
		from := len(pool)
		pool = known.of(a, pool, from)
		in.means[i] = pool[from:len(pool):len(pool)]
	}
}

// cueText is the text as cues see it, bounded like everything that is classified.
func (in *input) cueText() cue.Text {
	return cue.Text{Atoms: in.atoms[:len(in.means)], Concepts: in.means}
}

func (in *input) addAtom(atom string, token int) {
	in.atoms = append(in.atoms, atom)
	in.place = append(in.place, token)
}

func (in *input) addBreak(token int) {
	if n := len(in.atoms); n > 0 && in.atoms[n-1] != cue.BreakAtom {
		in.addAtom(cue.BreakAtom, token)
	}
}

// bare returns the words and numbers of the text, without signs and pictographs.
func (in *input) bare() []string {
	out := make([]string, 0, len(in.tokens))
	for _, t := range in.tokens {
		switch t.Kind {
		case words.Word:
			out = append(out, t.Text)
		case words.Number, words.Clock, words.Date, words.Phone:
			out = append(out, cue.NumberAtom)
		}
	}
	return out
}

// proposedQuantities are the readings that a confirmation asked about, in a fixed order.
func proposedQuantities(proposed map[string]float64) []Quantity {
	var out []Quantity
	for _, q := range AllQuantities() {
		if _, ok := proposed[string(q)]; ok {
			out = append(out, q)
		}
	}
	return out
}

// AllQuantities returns every quantity, in the order they are usually reported.
func AllQuantities() []Quantity {
	return []Quantity{FreeChlorine, TotalChlorine, CombinedChlorine, Bromine, PH, TotalAlkalinity, CalciumHardness, CyanuricAcid, TDS, Phosphate, Salt, WaterTemp}
}
