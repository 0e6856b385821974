package shop

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/goccy/go-yaml"
)

// Problem is one thing that is wrong with a shop file. Its text names the place and
// says what to do: `shop.yaml:7:7: line: not a phone number; write …`.
type Problem struct {
	File         string
	Line, Column int
	Field, Text  string
}

// Error implements error.
func (p *Problem) Error() string {
	field := p.Field
	if field != "" {
		field += ": "
	}
	return fmt.Sprintf("%s:%d:%d: %s%s", p.File, p.Line, p.Column, field, p.Text)
}

// Problems are all the problems found in a file, in its order. Load returns it.
type Problems []*Problem

// Error implements error, one problem a line.
func (ps Problems) Error() string {
	lines := make([]string, len(ps))
	for i, p := range ps {
		lines[i] = p.Error()
	}
	return strings.Join(lines, "\n")
}

// inOrder sorts by place, so that a file is mended from its top.
func (ps Problems) inOrder() Problems {
	slices.SortStableFunc(ps, func(a, b *Problem) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
	return ps
}

// fromYAML turns a decoder's error into a problem with its place.
func fromYAML(file string, err error) Problems {
	p := &Problem{File: file, Line: 1, Column: 1, Text: err.Error()}
	var ye yaml.Error
	if errors.As(err, &ye) {
		p.Text = hint(ye)
		if t := ye.GetToken(); t != nil && t.Position != nil {
			p.Line, p.Column = t.Position.Line, t.Position.Column
		}
	}
	return Problems{p}
}

// hint says what to do about the decoder's complaint where that is clear.
func hint(err yaml.Error) string {
	text := err.GetMessage()
	var unknown *yaml.UnknownFieldError
	if errors.As(err, &unknown) {
		return text + "; take it out or mend its spelling"
	}
	if _, kind, ok := strings.Cut(text, " of type "); ok {
		return key(err) + "wants " + plainKind(kind)
	}
	return text
}

// key finds the key whose value the complaint is about.
func key(err yaml.Error) string {
	t := err.GetToken()
	for range 2 { // the value's token, then the colon, then the key
		if t = t.Prev; t == nil {
			return ""
		}
	}
	return t.Value + ": "
}

func plainKind(goType string) string {
	switch goType {
	case "float64":
		return "a number, without quotes"
	case "string":
		return "a text"
	}
	return "something else here"
}
