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
}

// Hit is one cue found: where it begins and ends in the atoms.
type Hit struct {
	Pattern    *Pattern
	Start, End int
}

// Parse compiles cue files. A line "[label]" names the label of the cues that follow;
// "#" begins a comment line. Errors name file and line.
func Parse(file, text string) (*Set, error) {
	s := &Set{exact: map[string][]int32{}, prefix: map[string][]int32{}}
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
		p, err := Compile(label, line)
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
		for _, o := range part.options {
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
func (s *Set) Find(atoms []string) []Hit {
	var hits []Hit
	for i, a := range atoms {
		hits = s.try(hits, atoms, i, s.exact[a])
		if len(a) >= 3 {
			hits = s.try(hits, atoms, i, s.prefix[a[:3]])
		}
	}
	return hits
}

func (s *Set) try(hits []Hit, atoms []string, i int, candidates []int32) []Hit {
	for _, c := range candidates {
		p := &s.patterns[c]
		if seen(hits, p) {
			continue
		}
		if e := p.match(atoms, i, 0); e >= 0 && p.allowed(atoms, i, e) {
			hits = append(hits, Hit{Pattern: p, Start: i, End: e})
		}
	}
	return hits
}

func seen(hits []Hit, p *Pattern) bool {
	for _, h := range hits {
		if h.Pattern == p {
			return true
		}
	}
	return false
}

// Len returns how many cues the set holds.
func (s *Set) Len() int { return len(s.patterns) }
