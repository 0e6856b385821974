// Package field finds values in a gateway's callback: in a JSON body by a path, in a
// form by a field's name, in a header or in the address. What a shop file writes is parsed
// once; reading a stranger's bytes then never fails but by telling that nothing is there.
package field

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strings"
)

// The formats of a callback's body.
const (
	JSON  = "json"
	Form  = "form"
	Query = "query" // no body: the fields stand in the address
)

// Field is where one value stands. The zero Field stands nowhere.
type Field struct {
	header string
	query  string
	form   string
	path   Path
	top    bool // the path begins at the whole callback, not at the message
}

// Parse reads where a value stands, as a shop file writes it for a body of the format:
//
//	from                the form field, or the JSON member, of that name
//	message.sender[0]   JSON: a member of a member, an element of an array (from 0)
//	/account.line       JSON: from the top of the callback instead of from the message
//	header:X-Message-Id a header
//	query:id            a field of the address
func Parse(s, format string) (Field, error) {
	kind, name, ok := strings.Cut(s, ":")
	switch {
	case ok && kind == "header":
		if name == "" || strings.ContainsAny(name, " :\t\r\n") {
			return Field{}, errors.New("names no header; write one like header:X-Message-Id")
		}
		return Field{header: http.CanonicalHeaderKey(name)}, nil
	case ok && kind == "query":
		if name == "" {
			return Field{}, errors.New("names no field of the address; write one like query:id")
		}
		return Field{query: name}, nil
	case s == "":
		return Field{}, nil
	case format == Query:
		return Field{query: s}, nil
	case format == Form:
		return Field{form: s}, nil
	}
	rest, top := strings.CutPrefix(s, "/")
	p, err := ParsePath(rest)
	if err != nil {
		return Field{}, err
	}
	if p.Spreads() {
		return Field{}, errors.New("has [] in it, which goes under each; write one element like [0]")
	}
	return Field{path: p, top: top}, nil
}

// Given tells whether the field stands anywhere.
func (f Field) Given() bool { return f.header != "" || f.query != "" || f.form != "" || f.path != nil }

// Numbered gives the field with {n} in its name replaced: the second picture of a form.
func (f Field) Numbered(n string) Field {
	f.form, f.query = strings.ReplaceAll(f.form, "{n}", n), strings.ReplaceAll(f.query, "{n}", n)
	return f
}

// String is the field as people write it.
func (f Field) String() string {
	switch {
	case f.header != "":
		return "header:" + f.header
	case f.query != "":
		return "query:" + f.query
	case f.form != "":
		return f.form
	case f.path == nil:
		return ""
	case f.top:
		return "/" + f.path.String()
	}
	return f.path.String()
}

// Place is where fields are looked for: a callback, and one message in it.
type Place struct {
	Header http.Header
	Query  Pairs
	Form   Pairs
	Top    any // the whole JSON body, as encoding/json gives it with numbers as json.Number
	Item   any // the message in it
}

// TwiceError says that a field that can count only once is there more often: which of
// two senders counts must not be left to chance.
type TwiceError struct{ Name string }

// Error implements error.
func (e *TwiceError) Error() string { return "field " + e.Name + " is there more than once" }

// Text gives a field's value as text: "" where it is not there, is null, or is an object
// or an array. Numbers are as they were written. The error is a *TwiceError.
func (f Field) Text(at *Place) (string, error) {
	switch {
	case f.form != "":
		return at.Form.One(f.form)
	case f.query != "":
		return at.Query.One(f.query)
	case f.header != "":
		if all := at.Header[f.header]; len(all) > 1 {
			return "", &TwiceError{Name: f.header}
		}
		return at.Header.Get(f.header), nil
	case f.path == nil:
		return "", nil
	}
	from := at.Item
	if f.top {
		from = at.Top
	}
	return written(f.path.One(from)), nil
}

// written is a JSON value as text.
func written(v any) string {
	switch v := v.(type) {
	case string:
		return v
	case json.Number:
		return v.String()
	case bool:
		return fmt.Sprint(v)
	}
	return ""
}
