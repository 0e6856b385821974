package smstext

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// Fold writes typographic punctuation, spaces, fractions, degree and micro signs
// plainly, so that a text fits the GSM 7-bit alphabet: "104°F" becomes "104 F", "1½"
// becomes "1 1/2", never "11/2". It never changes a letter, a digit, a decimal point
// or a sign's meaning. When some character would still be outside the alphabet the
// mapping would spoil the text for nothing, and Fold returns it in normal form C only.
func Fold(text string) string {
	text = norm.NFC.String(text)
	if EncodingOf(text) == GSM7 {
		return text
	}
	folded := folder{rest: text}
	folded.out.Grow(len(text) + 8)
	for folded.rest != "" {
		if !folded.step() {
			return text
		}
	}
	return folded.out.String()
}

// folder is a text half rewritten.
type folder struct {
	rest string
	out  strings.Builder
}

// step rewrites the next character; false means that it cannot be written plainly.
func (f *folder) step() bool {
	r, size := utf8.DecodeRuneInString(f.rest)
	f.rest = f.rest[size:]
	if septets(r) > 0 {
		f.out.WriteRune(r)
		return true
	}
	switch r {
	case '½':
		return f.fraction("1/2")
	case '¼':
		return f.fraction("1/4")
	case '¾':
		return f.fraction("3/4")
	case '°', 'º':
		return f.degree()
	case '²':
		return f.power("2")
	case '³':
		return f.power("3")
	}
	plain, ok := plainFor(r)
	f.out.WriteString(plain)
	return ok
}

// plainFor is the plain spelling of a sign that reads the same wherever it stands.
func plainFor(r rune) (plain string, ok bool) {
	switch r {
	case '‘', '’', '‚', '‛', '′', '‹', '›', '`', '´':
		return "'", true
	case '“', '”', '„', '‟', '″', '«', '»':
		return `"`, true
	case '‐', '‑', '‒', '–', '—', '―', '−', '•':
		return "-", true
	case '…':
		return "...", true
	case '×':
		return "x", true
	case 'µ', 'μ':
		return "u", true
	case '\t', '\u00A0', '\u202F', '\u205F', '\u3000':
		return " ", true
	case '\u2028', '\u2029':
		return "\n", true
	case '\u00AD', '\u200B', '\u200C', '\u200D', '\u2060', '\uFEFF':
		return "", true
	}
	if r >= '\u2000' && r <= '\u200A' {
		return " ", true
	}
	return "", false
}

// fraction writes one apart from digits on either side, since "1½" is not "11/2".
func (f *folder) fraction(plain string) bool {
	if last := f.last(); isDigit(last) || last == '/' {
		f.out.WriteByte(' ')
	}
	f.out.WriteString(plain)
	if next, _ := utf8.DecodeRuneInString(f.rest); isDigit(next) {
		f.out.WriteByte(' ')
	}
	return true
}

// degree writes the sign before a lone F or C as one space. Any other degree or
// ordinal ("5° clockwise", "1º C/ Mayor") has no plain spelling that every reader
// takes alike.
func (f *folder) degree() bool {
	unit := strings.TrimLeft(f.rest, " \u00A0\u202F")
	if unit == "" || !strings.ContainsRune("FCfc", rune(unit[0])) {
		return false
	}
	if after, _ := utf8.DecodeRuneInString(unit[1:]); unicode.IsLetter(after) || after == '/' {
		return false
	}
	if last := f.last(); last != 0 && last != ' ' {
		f.out.WriteByte(' ')
	}
	f.rest = unit
	return true
}

// power writes a raised 2 or 3 as a digit after a unit of length only: "ft²" is read
// as "ft2", but "10²" must not become "102".
func (f *folder) power(digit string) bool {
	written := f.out.String()
	before := strings.TrimRightFunc(written, unicode.IsLetter)
	switch written[len(before):] {
	case "mm", "cm", "m", "km", "in", "ft", "yd":
		f.out.WriteString(digit)
		next, _ := utf8.DecodeRuneInString(f.rest)
		return !isDigit(next)
	}
	return false
}

// last is the last byte written, 0 at the beginning. Bytes are enough: what is looked
// for is ASCII.
func (f *folder) last() rune {
	if f.out.Len() == 0 {
		return 0
	}
	written := f.out.String()
	return rune(written[len(written)-1])
}

func isDigit(r rune) bool { return r >= '0' && r <= '9' }
