// Package ical writes what all iCalendar objects are made of (RFC 5545): content lines,
// text values and moments.
package ical

import (
	"strings"
	"time"
	"unicode/utf8"
)

// widest is how many octets a line may have without its end (RFC 5545, 3.1).
const widest = 75

// Lines joins content lines with CRLF. A long one is folded into pieces that begin with a
// blank, never within a character.
func Lines(lines []string) []byte {
	var b strings.Builder
	for _, line := range lines {
		fold(&b, line)
	}
	return []byte(b.String())
}

func fold(b *strings.Builder, line string) {
	room := widest
	for len(line) > room {
		cut := room
		for !utf8.RuneStart(line[cut]) {
			cut--
		}
		b.WriteString(line[:cut] + "\r\n ")
		line, room = line[cut:], widest-1
	}
	b.WriteString(line + "\r\n")
}

// UTC is a date-time in form 2 (RFC 5545, 3.3.5).
func UTC(at time.Time) string { return at.UTC().Format("20060102T150405Z") }

// Text escapes a value of type TEXT (RFC 5545, 3.3.11) and drops what no text may have.
func Text(s string) string {
	s = strings.NewReplacer("\\", "\\\\", ";", "\\;", ",", "\\,", "\r\n", "\\n", "\n", "\\n", "\r", "\\n").Replace(strings.ToValidUTF8(s, "?"))
	return Plain(s)
}

// Plain drops the control characters that no content line may have.
func Plain(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' && r != '\t' || r == 0x7f {
			return -1
		}
		return r
	}, s)
}
