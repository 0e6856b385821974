package understand

import (
	"strings"

	"tubhand/internal/understand/cue"
	"tubhand/internal/understand/words"
)

// input is one text made ready: cleaned, without quoted mail, cut into tokens, and as
// atoms (words, number and sentence marks) for the cues.
type input struct {
	ctx    Context
	text   string
	tokens []words.Token
	atoms  []string
}

func prepare(text string, ctx Context) input {
	in := input{ctx: ctx, text: words.WithoutQuotes(words.Clean(text))}
	in.tokens = words.Tokens(in.text)
	in.atoms = atomsOf(in.tokens)
	return in
}

func atomsOf(tokens []words.Token) []string {
	atoms := make([]string, 0, len(tokens))
	for _, t := range tokens {
		switch t.Kind {
		case words.Word, words.Emoji:
			atoms = append(atoms, t.Text)
		case words.Number, words.Clock, words.Date:
			atoms = append(atoms, cue.NumberAtom)
		case words.Break:
			atoms = appendBreak(atoms)
		case words.Mark:
			if strings.Contains(".!?;", t.Text) {
				atoms = appendBreak(atoms)
			}
		}
	}
	return atoms
}

func appendBreak(atoms []string) []string {
	if len(atoms) == 0 || atoms[len(atoms)-1] == cue.BreakAtom {
		return atoms
	}
	return append(atoms, cue.BreakAtom)
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
