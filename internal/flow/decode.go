package flow

import (
	"errors"
	"fmt"
	"io/fs"
	"math"
	"strings"
	"time"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/lexer"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

// largestFile bounds a flow file. The main service needs about a tenth of it.
const largestFile = 256 << 10

// Parse reads one flow file strictly: an unknown or repeated key, a second document, a
// file over 256 KiB, and everything that the format does not allow is refused. The
// name is only used in problems. What other files must provide (called troubles, states
// to return to, stamps) is checked by Load, and only Load finds the parts that a flow
// shares with others. All problems found are joined; see Problems.
func Parse(file string, src []byte) (*Flow, error) {
	f, err := parse(file, src, nil)
	if err != nil {
		return nil, err
	}
	return f, nil
}

// parse is Parse, but gives a well-formed flow along with its problems, so that other
// flows can be checked against it. Parts are read from parts/ in fsys.
func parse(file string, src []byte, fsys fs.FS) (*Flow, error) {
	f := &Flow{file: file}
	top, err := read(file, src, f)
	if err != nil {
		return nil, err
	}
	f.at = top
	if err := f.assemble(fsys); err != nil {
		return nil, err
	}
	return f, f.validate()
}

// read decodes one file strictly into v and tells where its parts stand.
func read(file string, src []byte, v any) (*place, error) {
	if len(src) > largestFile {
		return nil, &Problem{File: file, What: fmt.Sprintf("%d bytes long", len(src)),
			Do: fmt.Sprintf("keep flow files under %d bytes", largestFile)}
	}
	body, err := syntax(file, src)
	if err != nil {
		return nil, err
	}
	survey := surveyor{file: file}
	top := survey.survey(body, 0)
	if len(survey.problems) > 0 {
		return nil, errors.Join(survey.problems...)
	}
	return top, decode(file, body, v)
}

// syntax reads the one document that a flow file holds.
func syntax(file string, src []byte) (body ast.Node, err error) {
	defer recovered(file, &err)
	tokens := lexer.Tokenize(string(src))
	if err := plain(file, tokens); err != nil {
		return nil, err
	}
	tree, err := parser.Parse(tokens, 0)
	if err != nil {
		return nil, located(file, err)
	}
	if len(tree.Docs) > 1 {
		header := secondHeader(tokens)
		return nil, &Problem{File: file, Line: header.line, Column: header.column,
			What: "a second document", Do: "keep one flow in one file"}
	}
	if len(tree.Docs) == 0 || tree.Docs[0].Body == nil {
		return nil, &Problem{File: file, What: "empty", Do: "begin with `flow: name`"}
	}
	switch tree.Docs[0].Body.(type) {
	case *ast.MappingNode, *ast.MappingValueNode:
		return tree.Docs[0].Body, nil
	}
	first := at(tree.Docs[0].Body)
	return nil, &Problem{File: file, Line: first.line, Column: first.column,
		What: "not a mapping of keys to values", Do: "begin with `flow: name`"}
}

// secondHeader finds the `---` that begins the second document; the one that begins
// the first does not count.
func secondHeader(tokens token.Tokens) *place {
	content := false
	for _, t := range tokens {
		switch t.Type {
		case token.CommentType:
		case token.DocumentHeaderType, token.DocumentEndType:
			if content {
				return &place{line: t.Position.Line, column: t.Position.Column}
			}
		default:
			content = true
		}
	}
	return &place{line: 1, column: 1}
}

func decode(file string, body ast.Node, v any) (err error) {
	defer recovered(file, &err)
	if err := yaml.NodeToValue(body, v, yaml.Strict()); err != nil {
		return located(file, err)
	}
	return nil
}

// recovered turns a panic of the YAML library into a problem: a broken file must
// never end the program.
func recovered(file string, err *error) {
	if cause := recover(); cause != nil {
		*err = &Problem{File: file, What: fmt.Sprintf("the YAML library can't read it (%v)", cause), Do: "write it plainly"}
	}
}

// located gives an error of the YAML library its place.
func located(file string, err error) error {
	problem := &Problem{File: file, What: err.Error(), Do: "correct it"}
	if known, ok := errors.AsType[yaml.Error](err); ok {
		problem.What = known.GetMessage()
		if token := known.GetToken(); token != nil && token.Position != nil {
			problem.Line, problem.Column = token.Position.Line, token.Position.Column
		}
	}
	if _, ok := errors.AsType[*yaml.UnknownFieldError](err); ok {
		problem.Do = "check the spelling, and that it stands at the right level"
	}
	return problem
}

// unreadable marks a duration that could not be read; validate reports it with its place.
const unreadable = Duration(math.MinInt64)

// UnmarshalYAML reads "30m" or "1h30m". A text that is no duration is kept as a marker
// that Parse turns into a Problem with its place.
func (d *Duration) UnmarshalYAML(text []byte) error {
	read, err := time.ParseDuration(strings.Trim(strings.TrimSpace(string(text)), `"'`))
	if err != nil {
		*d = unreadable
		return nil
	}
	*d = Duration(read)
	return nil
}

// MarshalYAML writes the duration as UnmarshalYAML reads it.
func (d Duration) MarshalYAML() ([]byte, error) { return []byte(time.Duration(d).String()), nil }
