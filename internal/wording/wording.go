// Package wording holds what is said: one text per language, flow and key, filled in
// with the words of the moment. It is pure; the texts come from templates/.
package wording

import (
	"fmt"
	"io/fs"
	"path"
	"slices"
	"sort"
	"strings"
	"text/template"
	"text/template/parse"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
)

// Words are the words of the moment, each ready to be said: a dose is "3 level
// teaspoons", a time "9:42 am". A word that does not apply is "".
type Words struct {
	Shop, Phone, Person         string
	Volume, Reading, Missing    string
	Flush, FlushDose, JarLeft   string // the flush product, the label's dose for this tub
	Dose, Product, Measure, Why string // what is advised now: "3 level teaspoons of X"
	Until, Left, Time           string // the end of the wait, what is left of it, how long a job takes
	Hours, Emergency, Summary   string
	Sanitizer, Drain, Next      string
	Like                        string // a test as owners write it: "4 7.4 100 101"
	Share, ShareVolume          string // the part of the water to replace: "60 %", "225 gallons"
	Hottest                     string // the highest temperature to soak at
	Waiting                     string // the reply that is waited for, in short
	Chore, Day                  string // a job that comes round, and the day and hour for it
	Code, Owner, Cause, Text    string // of a page: what to reply, whom it is about, why, what they wrote
}

// Common is the flow name of texts that any flow may use.
const Common = "common"

// Set holds the texts of every language.
type Set struct {
	texts     map[string]map[place]*text // by language
	languages []string                   // sorted
}

// place is where a text stands.
type place struct{ flow, key string }

// text is filled in with words each time, unless it has no gaps to fill: most have none.
type text struct {
	*template.Template
	plain string
	gaps  bool
}

// Load reads <language>/<flow>.yaml from fsys: maps from key to text. It gives every
// error with file, line and column.
func Load(fsys fs.FS) (*Set, error) {
	files, err := fs.Glob(fsys, "*/*.yaml")
	if err != nil {
		return nil, fmt.Errorf("list wording files: %w", err)
	}
	set := &Set{texts: map[string]map[place]*text{}}
	for _, file := range files {
		src, err := fs.ReadFile(fsys, file)
		if err != nil {
			return nil, fmt.Errorf("read wording: %w", err)
		}
		if err := set.add(file, src); err != nil {
			return nil, err
		}
	}
	for l := range set.texts {
		set.languages = append(set.languages, l)
	}
	sort.Strings(set.languages)
	return set, nil
}

func (s *Set) add(file string, src []byte) error {
	language, flow := path.Dir(file), strings.TrimSuffix(path.Base(file), ".yaml")
	var texts map[string]string
	if err := yaml.UnmarshalWithOptions(src, &texts, yaml.Strict()); err != nil {
		return fmt.Errorf("%s: %w", file, err)
	}
	if s.texts[language] == nil {
		s.texts[language] = map[place]*text{}
	}
	places := places(src)
	for key, written := range texts {
		var plain strings.Builder
		t, err := template.New(flow + "/" + key).Option("missingkey=error").Parse(strings.TrimSpace(written))
		if err == nil {
			err = t.Execute(&plain, Words{})
		}
		if err != nil {
			return fmt.Errorf("%s:%s: text %q: %w", file, places[key], key, err)
		}
		s.texts[language][place{flow, key}] = &text{t, strings.TrimSpace(plain.String()), gaps(t)}
	}
	return nil
}

// gaps tells whether a text has anything but words of its own.
func gaps(t *template.Template) bool {
	return t.Tree != nil && slices.ContainsFunc(t.Tree.Root.Nodes, func(n parse.Node) bool { return n.Type() != parse.NodeText })
}

// places finds the line and column of each top-level key.
func places(src []byte) map[string]string {
	found := map[string]string{}
	doc, err := parser.ParseBytes(src, 0)
	if err != nil || len(doc.Docs) == 0 {
		return found
	}
	body, ok := doc.Docs[0].Body.(*ast.MappingNode)
	if !ok {
		return found
	}
	for _, v := range body.Values {
		pos := v.Key.GetToken().Position
		found[v.Key.GetToken().Value] = fmt.Sprintf("%d:%d", pos.Line, pos.Column)
	}
	return found
}

// Has tells whether the flow, or else the common texts, say something under key in
// English, the language that every text has.
func (s *Set) Has(flow, key string) bool { return s.find("en", flow, key) != nil }

// find looks in the language, then in English, for the flow's own text, then for the
// common one.
func (s *Set) find(language, flow, key string) *text {
	for _, l := range [2]string{language, "en"} {
		for _, f := range [2]string{flow, Common} {
			if t := s.texts[l][place{f, key}]; t != nil {
				return t
			}
		}
	}
	return nil
}

// Say fills in the text under key; ok is false where there is none.
func (s *Set) Say(language, flow, key string, w *Words) (said string, ok bool) {
	t := s.find(language, flow, key)
	switch {
	case t == nil:
		return "", false
	case !t.gaps:
		return t.plain, true
	}
	var b strings.Builder
	// Load ran every text once with the same type, so that this can't fail.
	if err := t.Execute(&b, w); err != nil {
		return "", false
	}
	return strings.TrimSpace(b.String()), true
}

// Names lists the texts of a language as "flow/key", sorted.
func (s *Set) Names(language string) []string {
	names := make([]string, 0, len(s.texts[language]))
	for at := range s.texts[language] {
		names = append(names, at.flow+"/"+at.key)
	}
	sort.Strings(names)
	return names
}

// Languages lists the languages that have texts, sorted. The list is shared: leave it as it is.
func (s *Set) Languages() []string { return s.languages }
