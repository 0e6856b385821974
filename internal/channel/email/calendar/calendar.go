// Package calendar writes iCalendar objects (RFC 5545) for waits: one event each, with an
// alarm, to be put into a calendar and not to be answered (METHOD:PUBLISH, RFC 5546).
package calendar

import (
	"strings"
	"time"
	"unicode/utf8"
)

// Wait is one event: something ends at a time.
type Wait struct {
	UID       string // the same for the same wait, whenever it is sent
	Organizer string // e-mail address
	Title     string
	About     string
	At        time.Time
	Made      time.Time // when it was set
}

// Write gives the iCalendar object of a wait, in UTF-8 with CRLF line ends.
func Write(w Wait) []byte {
	var b strings.Builder
	for _, line := range []string{
		"BEGIN:VCALENDAR",
		"VERSION:2.0",
		"PRODID:-//tubhand//waits//EN",
		"METHOD:PUBLISH",
		"BEGIN:VEVENT",
		"UID:" + text(w.UID),
		"DTSTAMP:" + utc(w.Made),
		"SEQUENCE:0",
		"DTSTART:" + utc(w.At),
		"DURATION:PT15M",
		"ORGANIZER:mailto:" + plain(w.Organizer),
		"SUMMARY:" + text(w.Title),
		"DESCRIPTION:" + text(w.About),
		"TRANSP:TRANSPARENT",
		"BEGIN:VALARM",
		"ACTION:DISPLAY",
		"TRIGGER:PT0M",
		"DESCRIPTION:" + text(w.Title),
		"END:VALARM",
		"END:VEVENT",
		"END:VCALENDAR",
	} {
		fold(&b, line)
	}
	return []byte(b.String())
}

// utc is a date-time in form 2 (RFC 5545, 3.3.5).
func utc(at time.Time) string { return at.UTC().Format("20060102T150405Z") }

// text escapes a value of type TEXT (RFC 5545, 3.3.11) and drops what no text may have.
func text(s string) string {
	s = strings.NewReplacer("\\", "\\\\", ";", "\\;", ",", "\\,", "\r\n", "\\n", "\n", "\\n", "\r", "\\n").Replace(strings.ToValidUTF8(s, "?"))
	return plain(s)
}

func plain(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' && r != '\t' || r == 0x7f {
			return -1
		}
		return r
	}, s)
}

// widest is how many octets a line may have without its end (RFC 5545, 3.1).
const widest = 75

// fold writes a line in pieces that begin with a blank, never within a character.
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
