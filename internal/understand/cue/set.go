package cue

import (
	"fmt"
	"strings"
)

// Set is a compiled list of cues, safe for concurrent use.
type Set struct {
	patterns []Pattern
	exact    map[string][]int32
	prefix   map[string][]int32
	concept  map[uint8][]int32
}

// Hit is one cue found: where it begins and ends in the atoms.
type Hit struct {
	Pattern    *Pattern
	Start, End int
}

// Parse compiles cue files. A line "[label]" names the label of the cues that follow;
// "#" begins a comment line. Errors name file and line.
func Parse(file, text string, known Concepts) (*Set, error) {
	s := &Set{exact: map[string][]int32{}, prefix: map[string][]int32{}, concept: map[uint8][]int32{}}
	label := ""
	for n, line := range strings.Split(text, "\n") {
		line = strings.TrimSpace(line)
		switch {
		case line == "" || strings.HasPrefix(line, "# "):
			continue
		case strings.HasPrefix(line, "["):
			label = strings.Trim(line, "[]")
			continue
		}
		p, err := Compile(label, line, known)
		if err != nil {
			return nil, fmt.Errorf("%s:%d: %w", file, n+1, err)
		}
		s.add(p)
	}
	return s, nil
}

func (s *Set) add(p Pattern) {
	p.Index = len(s.patterns)
	index := int32(p.Index)
	s.patterns = append(s.patterns, p)
	for _, part := range p.parts {
		if part.kind != words {
			continue
		}
		for _, c := range part.options.concepts {
			s.concept[c] = append(s.concept[c], index)
		}
		for _, o := range part.options.words {
			if strings.HasSuffix(o, "*") {
				s.prefix[o[:3]] = append(s.prefix[o[:3]], index)
			} else {
				s.exact[o] = append(s.exact[o], index)
			}
		}
		if !part.optional {
			return
		}
	}
}

// Find returns the cues that match, in order of place, each cue at most once.
func (s *Set) Find(t Text) []Hit { return s.find(t, seen) }

// FindAll returns the cues that match, in order of place; a cue is found again after the
// end of its last match.
func (s *Set) FindAll(t Text) []Hit { return s.find(t, within) }

// done tells whether a cue need not be tried at atom i, given the hits before.
type done func(hits []Hit, p *Pattern, i int) bool

func (s *Set) find(t Text, skip done) []Hit {
	var hits []Hit
	for i, a := range t.Atoms {
		hits = s.try(hits, t, i, skip, s.exact[a])
		if len(a) >= 3 {
			hits = s.try(hits, t, i, skip, s.prefix[a[:3]])
		}
		if i < len(t.Concepts) {
			for _, c := range t.Concepts[i] {
				hits = s.try(hits, t, i, skip, s.concept[c])
			}
		}
	}
	return hits
}

func (s *Set) try(hits []Hit, t Text, i int, skip done, candidates []int32) []Hit {
	for _, c := range candidates {
		p := &s.patterns[c]
		if skip(hits, p, i) {
			continue
		}
		if e := p.match(t, i, 0); e >= 0 && p.allowed(t, i, e) {
			hits = append(hits, Hit{Pattern: p, Start: i, End: e})
		}
	}
	return hits
}

func seen(hits []Hit, p *Pattern, _ int) bool {
	for _, h := range hits {
		if h.Pattern == p {
			return true
		}
	}
	return false
}

// within reports whether atom i lies in the last match of the cue.
func within(hits []Hit, p *Pattern, i int) bool {
	for k := len(hits) - 1; k >= 0; k-- {
		if hits[k].Pattern == p {
			return i < hits[k].End
		}
	}
	return false
}

// Len returns how many cues the set holds.
func (s *Set) Len() int { return len(s.patterns) }
