// Package cue finds phrases in a text: hand-written signs that are precise enough to
// decide or to weigh. Cues are written in a small pattern language, one a line:
//
//	word       this word (folded: lower case, no accents, no apostrophes)
//	word*      a word beginning so
//	a|b*|c     one of these
//	@name      any word of a concept; also inside a|b
//	?a|b       one of these, or nothing
//	..         up to three words; ... up to seven
//	#          a number
//	^ $        the beginning, the end of the text
//	!a|b       (last) unless one of these follows within four words
//	<a|b       (first) unless one of these stands within four words before
//
// A gap never crosses the end of a sentence. Matching takes time linear in the text for
// any fixed set of cues.
package cue

import (
	"fmt"
	"strings"
)

// Atom names that are not words.
const (
	NumberAtom = "#"
	BreakAtom  = ";"
)

type kind uint8

const (
	words kind = iota
	gap
	begin
	end
)

type element struct {
	kind     kind
	options  options
	optional bool
	longest  int
}

// options are words, prefixes and concepts, one of which an atom must be.
type options struct {
	words    []string // a trailing * makes a prefix
	concepts []uint8
}

// Pattern is one compiled cue.
type Pattern struct {
	Label  string
	Source string
	Index  int
	parts  []element
	before options
	after  options
}

// Text is what cues are looked for in: its atoms and the concepts of each.
type Text struct {
	Atoms    []string
	Concepts [][]uint8
}

// Concepts names the concepts that cues may refer to, in the order of their numbers.
type Concepts []string

func (c Concepts) number(name string) (uint8, bool) {
	for i, n := range c {
		if n == name {
			return uint8(i), true
		}
	}
	return 0, false
}

// Compile reads one cue of the pattern language.
func Compile(label, source string, known Concepts) (Pattern, error) {
	p := Pattern{Label: label, Source: source}
	fields := strings.Fields(source)
	for i, f := range fields {
		if err := p.field(f, i == 0, i == len(fields)-1, known); err != nil {
			return p, fmt.Errorf("cue %q: %w", source, err)
		}
	}
	return p, p.check()
}

func (p *Pattern) field(f string, isFirst, isLast bool, known Concepts) (err error) {
	switch {
	case f == "..":
		p.parts = append(p.parts, element{kind: gap, longest: 3})
	case f == "...":
		p.parts = append(p.parts, element{kind: gap, longest: 7})
	case f == "^":
		p.parts = append(p.parts, element{kind: begin})
	case f == "$":
		p.parts = append(p.parts, element{kind: end})
	case strings.HasPrefix(f, "<") && isFirst:
		p.before, err = parseOptions(f[1:], known)
	case strings.HasPrefix(f, "!") && isLast:
		p.after, err = parseOptions(f[1:], known)
	default:
		e := element{optional: strings.HasPrefix(f, "?")}
		e.options, err = parseOptions(strings.TrimPrefix(f, "?"), known)
		p.parts = append(p.parts, e)
	}
	return err
}

func parseOptions(text string, known Concepts) (options, error) {
	var out options
	for _, o := range strings.Split(text, "|") {
		name, isConcept := strings.CutPrefix(o, "@")
		if !isConcept {
			out.words = append(out.words, o)
			continue
		}
		n, ok := known.number(name)
		if !ok {
			return out, fmt.Errorf("no concept is named %q", name)
		}
		out.concepts = append(out.concepts, n)
	}
	return out, nil
}

func (p Pattern) check() error {
	for _, part := range p.parts {
		if part.kind != words || part.optional {
			continue
		}
		for _, o := range part.options.words {
			if o == "" || (strings.HasSuffix(o, "*") && len(o) < 4) {
				return fmt.Errorf("cue %q: %q is too short; write at least three letters before *", p.Source, o)
			}
		}
		return nil
	}
	return fmt.Errorf("cue %q: needs at least one word", p.Source)
}

func (o *options) empty() bool { return len(o.words) == 0 && len(o.concepts) == 0 }

func (t Text) is(i int, o *options) bool {
	atom := t.Atoms[i]
	for _, w := range o.words {
		if w == atom {
			return true
		}
		if n := len(w) - 1; n > 0 && w[n] == '*' && len(atom) >= n && atom[:n] == w[:n] {
			return true
		}
	}
	if len(o.concepts) == 0 || i >= len(t.Concepts) {
		return false
	}
	for _, c := range t.Concepts[i] {
		for _, w := range o.concepts {
			if c == w {
				return true
			}
		}
	}
	return false
}

// match tries parts[k:] at atom i and returns the end, or -1.
func (p *Pattern) match(t Text, i, k int) int {
	atoms := t.Atoms
	for ; k < len(p.parts); k++ {
		part := &p.parts[k]
		switch part.kind {
		case begin:
			if i != 0 {
				return -1
			}
		case end:
			for i < len(atoms) && atoms[i] == BreakAtom {
				i++
			}
			if i != len(atoms) {
				return -1
			}
		case gap:
			for n := 0; n <= part.longest && i+n <= len(atoms); n++ {
				if e := p.match(t, i+n, k+1); e >= 0 {
					return e
				}
				if i+n < len(atoms) && atoms[i+n] == BreakAtom {
					break
				}
			}
			return -1
		default:
			if i < len(atoms) && t.is(i, &part.options) {
				if part.optional {
					if e := p.match(t, i+1, k+1); e >= 0 {
						return e
					}
					continue
				}
				i++
				continue
			}
			if !part.optional {
				return -1
			}
		}
	}
	return i
}

// allowed checks the guards before start and after stop.
func (p *Pattern) allowed(t Text, start, stop int) bool {
	for n := start - 1; n >= 0 && n >= start-4 && !p.before.empty() && t.Atoms[n] != BreakAtom; n-- {
		if t.is(n, &p.before) {
			return false
		}
	}
	for n := stop; n < len(t.Atoms) && n < stop+4 && !p.after.empty() && t.Atoms[n] != BreakAtom; n++ {
		if t.is(n, &p.after) {
			return false
		}
	}
	return true
}
