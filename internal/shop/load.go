package shop

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"

	"tubhand/internal/conversation"
)

// MaxBytes bounds a shop file. Real ones are a few kilobytes, and a YAML decoder can be
// kept busy for seconds by a hostile megabyte.
const MaxBytes = 256 << 10

// Load reads a shop file. The name is used in messages only. The error is of type
// Problems and holds everything that is wrong, unless the text is no YAML at all.
func Load(file string, src []byte) (*File, error) {
	if len(src) > MaxBytes {
		return nil, Problems{{File: file, Line: 1, Column: 1,
			Text: fmt.Sprintf("has %d bytes; a shop file may have at most %d", len(src), MaxBytes)}}
	}
	w, tree, err := decode(src)
	if err != nil {
		return nil, fromYAML(file, err)
	}
	c := &check{file: file, tree: tree}
	f := c.whole(w)
	if len(c.found) > 0 {
		return nil, c.found.inOrder()
	}
	return f, nil
}

var errSecond = errors.New("a second document after ---; keep one shop in a file")

// decode reads the one document, and its tree for the places of what is wrong.
func decode(src []byte) (written, *ast.File, error) {
	var w written
	d := yaml.NewDecoder(bytes.NewReader(src), yaml.Strict())
	if err := d.Decode(&w); err != nil {
		if errors.Is(err, io.EOF) {
			err = errors.New("is empty; begin with shop: and name:")
		}
		return w, nil, err
	}
	if err := d.Decode(new(any)); !errors.Is(err, io.EOF) {
		return w, nil, cmp.Or(err, errSecond)
	}
	tree, err := parser.ParseBytes(src, 0)
	return w, tree, err
}

// whole builds the checked file; what is wrong is collected, not returned.
func (c *check) whole(w written) *File {
	f := &File{Gateways: c.gateways(w)}
	f.Shop = conversation.Shop{
		Key:      c.key("$.shop", w.Key),
		Name:     c.said("$.name", w.Name, 40),
		TimeZone: c.zone(w.TimeZone),
		Region:   c.region(w.Region),
		Language: c.oneOf("$.language", w.Language, "en", "es"),
		Gateway:  w.Gateway,
		Flush:    c.flush(w.Flush),
		Products: c.products(w.Products),
		Hours:    c.hours("$.hours", w.Hours),
		Staff:    c.staff(w.Staff),
		Drain:    c.drain(w.Drain),
		Limits:   c.limits(w.Limits),
		Consent:  c.consent(w.Consent),
	}
	f.Retention = c.retention(w.Retention)
	f.Shop.Phone = c.said("$.phone", w.Phone, 30)
	c.number("$.phone", w.Phone, w.Region)
	f.Shop.Line = c.number("$.line", w.Line, w.Region)
	if f.Mail = c.mail(w.Mail); f.Mail != nil {
		f.Shop.Mail = f.Mail.Address
	}
	f.Shop.OnCall, f.Shop.Paging = c.onCall(w), c.paging(w.Paging)
	if _, ok := w.Gateways[w.Gateway]; !ok {
		c.bad("$.gateway", "names no gateway of this file; write one of: %s", list(w.Gateways))
	}
	return f
}

// list names a map's keys for a message, in order.
func list[V any](m map[string]V) string {
	if len(m) == 0 {
		return "(there is none yet)"
	}
	var b bytes.Buffer
	for i, k := range slices.Sorted(maps.Keys(m)) {
		if i > 0 {
			b.WriteString(", ")
		}
		b.WriteString(k)
	}
	return b.String()
}
