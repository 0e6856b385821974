package sms

import (
	"encoding/hex"
	"slices"
	"strconv"
	"strings"
	"unicode/utf16"

	"tubhand/internal/shop"
	"tubhand/internal/shop/field"
)

// reading reads the fields of one message and remembers the first thing that is wrong.
type reading struct {
	at *field.Place
	no *refusal
}

func (r *reading) text(f field.Field) string {
	s, err := f.Text(r.at)
	if err != nil && r.no == nil {
		r.no = refuse(400, err.Error())
	}
	return s
}

// ucs2 decodes a text that is written as the hexadecimal digits of its UTF-16 units.
func (r *reading) ucs2(s string) string {
	raw, err := hex.DecodeString(s)
	if err != nil || len(raw)%2 != 0 {
		if r.no == nil {
			r.no = refuse(400, "the text is not UCS-2 in hexadecimal digits")
		}
		return ""
	}
	units := make([]uint16, len(raw)/2)
	for i := range units {
		units[i] = uint16(raw[2*i])<<8 | uint16(raw[2*i+1])
	}
	return string(utf16.Decode(units))
}

func (r *reading) pictures(m shop.MediaFields) (out []Picture) {
	add := func(inner reading, url, kind field.Field) {
		p := Picture{URL: inner.text(url), Kind: inner.text(kind)}
		if r.no == nil {
			r.no = inner.no
		}
		if p.URL != "" && len(out) < maxPictures {
			out = append(out, p)
		}
	}
	switch {
	case m.Each != nil:
		for _, item := range m.Each.All(r.at.Item) {
			one := *r.at
			one.Item = item
			add(reading{at: &one}, m.URL, m.Kind)
		}
	case strings.Contains(m.URL.String(), "{n}"):
		for n := range maxPictures + 1 { // gateways count from 0 or from 1
			number := strconv.Itoa(n)
			add(reading{at: r.at}, m.URL.Numbered(number), m.Kind.Numbered(number))
		}
	default:
		add(reading{at: r.at}, m.URL, m.Kind)
	}
	return out
}

// holds tells whether all conditions hold.
func holds(p *field.Place, all []shop.When) bool {
	for _, w := range all {
		got, err := w.At.Text(p)
		if err != nil || !slices.Contains(w.Is, strings.ToLower(strings.TrimSpace(got))) {
			return false
		}
	}
	return true
}
