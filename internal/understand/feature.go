package understand

import (
	"slices"

	"tubhand/internal/understand/cue"
)

// mostAtoms bounds the part of a text that is classified; a text message has a
// hundred words at most.
const mostAtoms = 400

// weightOfMeaning is how often a concept or cue counts beside a bare word.
const weightOfMeaning = 3

// sink takes features: a kind and up to three parts, of which those without use are "".
type sink interface {
	add(kind byte, a, b, c string)
}

// hashes is a sink that keeps hashes alone.
type hashes []uint32

func (h *hashes) add(kind byte, a, b, c string) {
	x := (uint32(2166136261) ^ uint32(kind)) * 16777619
	for _, part := range [...]string{a, b, c} {
		for i := 0; i < len(part); i++ {
			x = (x ^ uint32(part[i])) * 16777619
		}
		x = (x ^ 0x1f) * 16777619
	}
	*h = append(*h, x)
}

// evidence is what the classifiers see of a text.
type evidence struct {
	in       *input
	atoms    []string
	concepts [][]uint8
	hits     []cue.Hit
	wishes   []cue.Hit // about the messages themselves
	facts    []string
}

func (in *input) evidence(m *Meaning) evidence {
	t := in.cueText()
	e := evidence{in: in, atoms: t.Atoms, concepts: t.Concepts}
	e.wishes = loadCues().optOut.Find(t)
	e.hits = slices.Concat(loadCues().intents.Find(t), loadCues().hazards.Find(t), e.wishes)
	e.facts = in.facts(m)
	return e
}

// write sends every feature to the sink.
func (e *evidence) write(s sink) {
	e.wordFeatures(s)
	e.conceptFeatures(s)
	e.contextFeatures(s)
	for _, h := range e.hits {
		for range weightOfMeaning {
			s.add('k', h.Pattern.Label, "", "")
		}
		s.add('K', h.Pattern.Source, "", "")
	}
	for _, f := range e.facts {
		s.add('F', f, "", "")
		s.add('H', f, string(e.in.ctx.Asked), "")
	}
}

func (e *evidence) atom(i int) string {
	if i < 0 {
		return "^"
	}
	if i >= len(e.atoms) {
		return "$"
	}
	return e.atoms[i]
}

func (e *evidence) wordFeatures(s sink) {
	for i, a := range e.atoms {
		s.add('b', e.atom(i-1), a, "")
		if a == cue.BreakAtom {
			continue
		}
		s.add('w', a, "", "")
		s.add('s', e.atom(i-2), a, "")
		grams(s, a)
	}
	if n := len(e.atoms); n > 0 {
		s.add('f', e.atoms[0], "", "")
		s.add('l', e.atoms[n-1], "", "")
		s.add('b', e.atoms[n-1], "$", "")
	}
}

// grams sends the runs of three to five letters of a longer word.
func grams(s sink, word string) {
	if len(word) < 4 || len(word) > 24 {
		return
	}
	padded := "<" + word + ">"
	for size := 3; size <= 5; size++ {
		for i := 0; i+size <= len(padded); i++ {
			s.add('n', padded[i:i+size], "", "")
		}
	}
}

func (e *evidence) conceptFeatures(s sink) {
	names := loadConcepts().names
	for _, list := range e.concepts {
		for _, c := range list {
			for range weightOfMeaning {
				s.add('c', names[c], "", "")
			}
		}
	}
}

func (e *evidence) contextFeatures(s sink) {
	asked, step := string(e.in.ctx.Asked), e.in.ctx.Step
	s.add('a', asked, "", "")
	s.add('g', step, "", "")
	size := lengthName(len(e.atoms))
	s.add('h', size, "", "")
	s.add('h', size, asked, "")
	for i, a := range e.atoms {
		if i < 6 || len(e.atoms) <= 10 {
			s.add('A', asked, a, "")
			s.add('A', asked, e.atom(i-1), a)
		}
		if len(e.atoms) <= 6 {
			s.add('G', step, a, "")
		}
	}
	for _, h := range e.hits {
		s.add('B', asked, h.Pattern.Label, "")
	}
}

func lengthName(n int) string {
	switch {
	case n == 0:
		return "0"
	case n <= 1:
		return "1"
	case n <= 2:
		return "2"
	case n <= 4:
		return "4"
	case n <= 8:
		return "8"
	case n <= 16:
		return "16"
	}
	return "more"
}
