package flow

import (
	"fmt"

	"github.com/goccy/go-yaml/token"
)

// The bounds of a flow file's text. The YAML library recurses without a bound of its
// own and looks through a mapping's keys again for each key, so a file of nothing but
// brackets would keep it busy for minutes. The main service needs about a fifth of these.
const (
	mostTokens        = 50_000
	mostTokensPerLine = 400
	mostDashesPerLine = 4
)

// plain refuses what flow files do not use before the YAML library sees it: anchors,
// aliases, tags, merges and directives make a file say in one place what counts in
// another, and deep nesting is never meant.
func plain(file string, tokens token.Tokens) error {
	refuse := func(t *token.Token, what, do string) error {
		return &Problem{File: file, Line: t.Position.Line, Column: t.Position.Column, What: what, Do: do}
	}
	var c counts
	for _, t := range tokens {
		switch t.Type {
		case token.AnchorType, token.AliasType, token.TagType, token.MergeKeyType, token.DirectiveType, token.MappingKeyType:
			return refuse(t, fmt.Sprintf("%q: anchors, aliases, merges, tags, directives and complex keys are not used in flow files", t.Value),
				"write the value out, or put it in quotes")
		}
		if c.add(t) {
			return refuse(t, "nested too deep, or too much in one line or file", "write it plainly, over more lines or files")
		}
	}
	return nil
}

// counts keeps what plain bounds.
type counts struct {
	total, open, line, onLine, dashes int
}

// add counts a token and tells whether a bound is passed.
func (c *counts) add(t *token.Token) bool {
	if t.Position.Line != c.line {
		c.line, c.onLine, c.dashes = t.Position.Line, 0, 0
	}
	c.total++
	c.onLine++
	switch t.Type {
	case token.SequenceStartType, token.MappingStartType:
		c.open++
	case token.SequenceEndType, token.MappingEndType:
		c.open = max(0, c.open-1)
	case token.SequenceEntryType:
		c.dashes++
	}
	return c.total > mostTokens || c.open > deepest || c.onLine > mostTokensPerLine || c.dashes > mostDashesPerLine
}
