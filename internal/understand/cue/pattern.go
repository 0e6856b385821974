// Package cue finds phrases in a text: hand-written signs that are precise enough to
// decide or to weigh. Cues are written in a small pattern language, one a line:
//
//	word       this word (folded: lower case, no accents, no apostrophes)
//	word*      a word beginning so
//	a|b*|c     one of these
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
	options  []string // a trailing * makes a prefix
	optional bool
	longest  int
}

// Pattern is one compiled cue.
type Pattern struct {
	Label  string
	Source string
	Index  int
	parts  []element
	before []string
	after  []string
}

// Compile reads one cue of the pattern language.
func Compile(label, source string) (Pattern, error) {
	p := Pattern{Label: label, Source: source}
	fields := strings.Fields(source)
	for i, f := range fields {
		switch {
		case f == "..":
			p.parts = append(p.parts, element{kind: gap, longest: 3})
		case f == "...":
			p.parts = append(p.parts, element{kind: gap, longest: 7})
		case f == "^":
			p.parts = append(p.parts, element{kind: begin})
		case f == "$":
			p.parts = append(p.parts, element{kind: end})
		case strings.HasPrefix(f, "<") && i == 0:
			p.before = strings.Split(f[1:], "|")
		case strings.HasPrefix(f, "!") && i == len(fields)-1:
			p.after = strings.Split(f[1:], "|")
		case strings.HasPrefix(f, "?"):
			p.parts = append(p.parts, element{options: strings.Split(f[1:], "|"), optional: true})
		default:
			p.parts = append(p.parts, element{options: strings.Split(f, "|")})
		}
	}
	return p, p.check()
}

func (p Pattern) check() error {
	for _, part := range p.parts {
		if part.kind != words || part.optional {
			continue
		}
		for _, o := range part.options {
			if o == "" || (strings.HasSuffix(o, "*") && len(o) < 4) {
				return fmt.Errorf("cue %q: %q is too short; write at least three letters before *", p.Source, o)
			}
		}
		return nil
	}
	return fmt.Errorf("cue %q: needs at least one word", p.Source)
}

func matches(options []string, atom string) bool {
	for _, o := range options {
		if o == atom {
			return true
		}
		if n := len(o) - 1; n > 0 && o[n] == '*' && len(atom) >= n && atom[:n] == o[:n] {
			return true
		}
	}
	return false
}

// match tries parts[k:] at atom i and returns the end, or -1.
func (p *Pattern) match(atoms []string, i, k int) int {
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
				if e := p.match(atoms, i+n, k+1); e >= 0 {
					return e
				}
				if i+n < len(atoms) && atoms[i+n] == BreakAtom {
					break
				}
			}
			return -1
		default:
			if i < len(atoms) && matches(part.options, atoms[i]) {
				if part.optional {
					if e := p.match(atoms, i+1, k+1); e >= 0 {
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
func (p *Pattern) allowed(atoms []string, start, stop int) bool {
	for n := start - 1; n >= 0 && n >= start-4 && len(p.before) > 0 && atoms[n] != BreakAtom; n-- {
		if matches(p.before, atoms[n]) {
			return false
		}
	}
	for n := stop; n < len(atoms) && n < stop+4 && len(p.after) > 0 && atoms[n] != BreakAtom; n++ {
		if matches(p.after, atoms[n]) {
			return false
		}
	}
	return true
}
