package shop

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"

	"tubhand/internal/phone"
	"tubhand/internal/smstext"
)

// check collects what is wrong with a file while it is built.
type check struct {
	file  string
	tree  *ast.File
	found Problems
}

// bad notes a problem at a path such as $.staff.dana.page, or at the nearest thing
// above it that is in the file.
func (c *check) bad(path, format string, args ...any) {
	line, column := c.place(path)
	c.found = append(c.found, &Problem{File: c.file, Line: line, Column: column,
		Field: strings.TrimPrefix(path, "$."), Text: fmt.Sprintf(format, args...)})
}

func (c *check) place(path string) (line, column int) {
	for path != "$" && path != "" {
		p, err := yaml.PathString(quoted(path))
		if err == nil {
			if n, err := p.FilterFile(c.tree); err == nil && n.GetToken() != nil {
				return start(n)
			}
		}
		path = path[:max(strings.LastIndexAny(path, ".["), 0)]
	}
	return 1, 1
}

// start is where a value begins: of a mapping, its first key.
func start(n ast.Node) (line, column int) {
	if m, ok := n.(*ast.MappingNode); ok && !m.IsFlowStyle && len(m.Values) > 0 {
		n = m.Values[0].Key
	}
	at := n.GetToken().Position
	return at.Line, at.Column
}

// quoted puts each name of a path in quotes, since names are a stranger's.
func quoted(path string) string {
	names := strings.Split(path, ".")
	for i, n := range names[1:] {
		name, index, _ := strings.Cut(n, "[")
		names[i+1] = "'" + strings.ReplaceAll(name, "'", "") + "'"
		if index != "" {
			names[i+1] += "[" + index
		}
	}
	return strings.Join(names, ".")
}

var keyForm = regexp.MustCompile(`^[a-z][a-z0-9_-]{0,39}$`)

// key checks a name that goes into paths and records.
func (c *check) key(path, s string) string {
	if !keyForm.MatchString(s) {
		c.bad(path, "%s; use up to 40 small letters, digits, - and _, like fernhollow", missingOr(s, "is no usable key"))
	}
	return s
}

// said checks words that go into texts to owners.
func (c *check) said(path, s string, most int) string {
	switch {
	case strings.TrimSpace(s) == "":
		c.bad(path, "is missing; owners are told it")
	case utf8.RuneCountInString(s) > most:
		c.bad(path, "has %d characters; texts are short, so use at most %d", utf8.RuneCountInString(s), most)
	case strings.ContainsFunc(s, unicode.IsControl):
		c.bad(path, "has a character that cannot be printed; take it out")
	case !plain(s):
		c.bad(path, "has a character outside the alphabet of text messages; write it plainly (no accents but those of the alphabet, straight quotes)")
	}
	return s
}

// plain tells whether a text message carries s at 7 bits a character. One character
// outside halves what fits into each message that says it.
func plain(s string) bool {
	_, ok := smstext.Septets(s)
	return ok
}

func (c *check) number(path, written, region string) string {
	n, err := phone.Parse(written, region)
	if err != nil {
		c.bad(path, "%v; write it in full, like \"+15415550100\"", err)
	}
	return n.E164
}

func (c *check) zone(name string) string {
	if _, err := time.LoadLocation(name); err != nil || name == "" || name == "Local" {
		c.bad("$.time_zone", "%s; write an IANA name like America/Los_Angeles", missingOr(name, "is no time zone"))
	}
	return name
}

var regionForm = regexp.MustCompile(`^[A-Z]{2}$`)

func (c *check) region(code string) string {
	if !regionForm.MatchString(code) {
		c.bad("$.region", "%s; write the ISO 3166 country in two capitals, like US", missingOr(code, "is no country code"))
	}
	return code
}

func (c *check) oneOf(path, s string, allowed ...string) string {
	if !slices.Contains(allowed, s) {
		c.bad(path, "%s; write one of: %s", missingOr(s, "is not known"), strings.Join(allowed, ", "))
	}
	return s
}

func missingOr(s, wrong string) string {
	if s == "" {
		return "is missing"
	}
	return wrong
}
