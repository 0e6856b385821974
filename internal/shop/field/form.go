package field

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"net/url"
	"strings"
)

// Pairs are the fields of a form or of an address in their order, repeated ones too.
type Pairs []Pair

// Pair is one field with its value, both unescaped.
type Pair struct{ Name, Value string }

// ErrForm says that a form is malformed.
var ErrForm = errors.New("no well-formed form: see to its percent signs and semicolons")

// ParseForm reads application/x-www-form-urlencoded text.
func ParseForm(raw string) (Pairs, error) {
	pairs := make(Pairs, 0, min(strings.Count(raw, "&")+1, 64))
	for raw != "" {
		var one string
		one, raw, _ = strings.Cut(raw, "&")
		if one == "" {
			continue
		}
		if strings.Contains(one, ";") {
			return nil, ErrForm
		}
		name, value, _ := strings.Cut(one, "=")
		var err1, err2 error
		name, err1 = url.QueryUnescape(name)
		value, err2 = url.QueryUnescape(value)
		if err1 != nil || err2 != nil {
			return nil, ErrForm
		}
		pairs = append(pairs, Pair{name, value})
	}
	return pairs, nil
}

// One gives the value of a field that may be there once; "" where it is not there. The
// error is a *TwiceError.
func (p Pairs) One(name string) (string, error) {
	at := -1
	for i := range p {
		if p[i].Name != name {
			continue
		}
		if at >= 0 {
			return "", &TwiceError{Name: name}
		}
		at = i
	}
	if at < 0 {
		return "", nil
	}
	return p[at].Value, nil
}

// ErrJSON says that a body is no JSON.
var ErrJSON = errors.New("no well-formed JSON")

// ParseJSON reads one JSON value; numbers keep their digits.
func ParseJSON(raw []byte) (any, error) {
	d := json.NewDecoder(bytes.NewReader(raw))
	d.UseNumber()
	var v any
	if err := d.Decode(&v); err != nil {
		return nil, ErrJSON
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return nil, ErrJSON
	}
	return v, nil
}
