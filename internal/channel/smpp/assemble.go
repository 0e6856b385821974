package smpp

import (
	"strings"
	"unicode"
)

// gap stands in a text where parts of it never came.
const gap = "[...]"

// assemble makes the text of parts in their order. Octets are joined before they are
// read, since a phone may cut within a character. Where a part is missing the words at
// the edges are left out, which may be halves: a reading of 7.2 must not become one of 7.
func assemble(parts []kept, zero Alphabet) string {
	var text strings.Builder
	next := 1 // the part that should follow
	for len(parts) > 0 {
		run := 1
		for run < len(parts) && parts[run].Sequence == parts[run-1].Sequence+1 {
			run++
		}
		first, last := parts[0], parts[run-1]
		words := read(parts[:run], zero)
		if first.Sequence != next {
			words = gap + " " + dropFirst(words)
		}
		if last.Sequence != last.Total && (run < len(parts) || last.Sequence < last.Total) {
			words = dropLast(words) + " "
			if run == len(parts) {
				words += gap
			}
		}
		text.WriteString(words)
		next, parts = last.Sequence+1, parts[run:]
	}
	return text.String()
}

// read reads parts that follow each other; those of one coding as one.
func read(parts []kept, zero Alphabet) string {
	var text strings.Builder
	for len(parts) > 0 {
		same, octets := 0, []byte(nil)
		for same < len(parts) && parts[same].Coding == parts[0].Coding && parts[same].Spanish == parts[0].Spanish {
			octets = append(octets, parts[same].Octets...)
			same++
		}
		text.WriteString(decode(parts[0].Coding, zero, parts[0].Spanish, octets))
		parts = parts[same:]
	}
	return text.String()
}

func dropFirst(s string) string {
	if at := strings.IndexFunc(s, unicode.IsSpace); at >= 0 {
		return strings.TrimLeftFunc(s[at:], unicode.IsSpace)
	}
	return loneWord(s)
}

func dropLast(s string) string {
	if at := strings.LastIndexFunc(s, unicode.IsSpace); at >= 0 {
		return strings.TrimRightFunc(s[:at], unicode.IsSpace)
	}
	return loneWord(s)
}

// loneWord keeps a run that is one word, unless it is a number or has one.
func loneWord(s string) string {
	if strings.ContainsFunc(s, unicode.IsDigit) {
		return ""
	}
	return s
}
