package field

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// Path leads from a JSON value to others within it: members by name, elements by number,
// or all elements of an array.
type Path []step

// step is one step of a path: a member's name, an element, or, with every set, each element.
type step struct {
	name  string
	at    int
	index bool // an element, not a member
	every bool
}

// longest is the most steps of a path.
const longest = 20

// maxItems bounds what a path with [] may give; callbacks hold a handful.
const maxItems = 1000

// ParsePath reads a path: names with dots between, [0] for an element of an array, [] for
// each. A name with a dot or a bracket in it stands in double quotes.
func ParsePath(s string) (Path, error) {
	var p Path
	for rest := s; ; {
		var one step
		var err error
		one, rest, err = next(rest, len(p) == 0)
		if err != nil {
			return nil, fmt.Errorf("%q %w", s, err)
		}
		p = append(p, one)
		if len(p) > longest {
			return nil, fmt.Errorf("has more than %d steps", longest)
		}
		if rest == "" {
			return p, nil
		}
	}
}

var errPath = errors.New("is no path; write names with dots between, like message.sender or messages[0].text")

// next reads one step. A name after the first stands behind a dot.
func next(s string, first bool) (one step, rest string, err error) {
	if inside, ok := strings.CutPrefix(s, "["); ok {
		number, rest, ok := strings.Cut(inside, "]")
		if !ok {
			return one, "", errors.New("lacks a closing ]")
		}
		if number == "" {
			return step{every: true}, rest, nil
		}
		n, err := strconv.ParseUint(number, 10, 16)
		if err != nil || number != strconv.FormatUint(n, 10) {
			return one, "", errors.New("has no number from 0 on between [ and ]")
		}
		return step{at: int(n), index: true}, rest, nil
	}
	if !first {
		after, ok := strings.CutPrefix(s, ".")
		if !ok {
			return one, "", errPath
		}
		s = after
	}
	if inside, ok := strings.CutPrefix(s, `"`); ok {
		name, rest, ok := strings.Cut(inside, `"`)
		if !ok || name == "" {
			return one, "", errors.New("lacks a closing quote")
		}
		return step{name: name}, rest, nil
	}
	end := strings.IndexAny(s, `.["]`)
	if end < 0 {
		end = len(s)
	}
	if end == 0 || end < len(s) && (s[end] == '"' || s[end] == ']') || strings.ContainsAny(s[:end], " \t\r\n") {
		return one, "", errPath
	}
	return step{name: s[:end]}, s[end:], nil
}

// Spreads tells whether the path leads to each element of some array.
func (p Path) Spreads() bool {
	for _, s := range p {
		if s.every {
			return true
		}
	}
	return false
}

// String is the path as people write it.
func (p Path) String() string {
	var b strings.Builder
	for i, s := range p {
		switch {
		case s.every:
			b.WriteString("[]")
			continue
		case s.index:
			b.WriteString("[" + strconv.Itoa(s.at) + "]")
			continue
		case i > 0:
			b.WriteByte('.')
		}
		if strings.ContainsAny(s.name, ".[] \t\r\n") {
			b.WriteString(`"` + s.name + `"`)
		} else {
			b.WriteString(s.name)
		}
	}
	return b.String()
}

// One gives the value that a path without [] leads to, nil where there is none.
func (p Path) One(v any) any {
	for _, s := range p {
		v = s.from(v)
	}
	return v
}

func (s step) from(v any) any {
	if s.index {
		if list, ok := v.([]any); ok && s.at < len(list) {
			return list[s.at]
		}
		return nil
	}
	if object, ok := v.(map[string]any); ok {
		return object[s.name]
	}
	return nil
}

// All gives every value that the path leads to, at most 1000. What is not there is left out.
func (p Path) All(v any) []any {
	found := []any{v}
	for _, s := range p {
		var deeper []any
		for _, one := range found {
			if s.every {
				list, _ := one.([]any)
				deeper = append(deeper, list...)
			} else if inner := s.from(one); inner != nil {
				deeper = append(deeper, inner)
			}
			if len(deeper) > maxItems {
				deeper = deeper[:maxItems]
				break
			}
		}
		found = deeper
	}
	return found
}
