package sms

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// maxText is how many characters of one text are handled. It is more than any phone
// sends as one text (ten segments of 153 septets); what a gateway lets through beyond
// it is cut off.
const maxText = 1600

// maxSeen is how many characters are looked through for an emergency: fifty segments.
// Looking takes time, and nobody texts more in need.
const maxSeen = 8000

// overlap keeps a phrase that lies across two windows whole in one of them.
const overlap = 200

// tidy makes a stranger's bytes a text: valid UTF-8, no control characters, line ends
// as LF, blanks around it gone.
func tidy(s string) string {
	s = strings.ReplaceAll(strings.ToValidUTF8(s, "\uFFFD"), "\r\n", "\n")
	s = strings.Map(func(r rune) rune {
		switch {
		case r == '\n':
			return r
		case r == '\r':
			return '\n'
		case r == '\t':
			return ' '
		case unicode.IsControl(r):
			return -1
		}
		return r
	}, s)
	return strings.TrimSpace(s)
}

// bound cuts a tidy text to maxText characters: the first ones, unless the emergency in
// a long one stands further down.
func bound(s string, urgent func(string) bool) string {
	if len(s) <= maxText || utf8.RuneCountInString(s) <= maxText {
		return s
	}
	runes := []rune(s)
	runes = runes[:min(len(runes), maxSeen)]
	first := string(runes[:maxText])
	if urgent(first) {
		return first
	}
	for at := maxText - overlap; at < len(runes); at += maxText - overlap {
		window := string(runes[at:min(at+maxText, len(runes))])
		if urgent(window) {
			return window
		}
	}
	return first
}
