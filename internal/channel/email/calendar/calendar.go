// Package calendar writes iCalendar objects (RFC 5545) for waits: one event each, with an
// alarm, to be put into a calendar and not to be answered (METHOD:PUBLISH, RFC 5546).
package calendar

import (
	"time"

	"tubhand/internal/ical"
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
	return ical.Lines([]string{
		"BEGIN:VCALENDAR",
		"VERSION:2.0",
		"PRODID:-//tubhand//waits//EN",
		"METHOD:PUBLISH",
		"BEGIN:VEVENT",
		"UID:" + ical.Text(w.UID),
		"DTSTAMP:" + ical.UTC(w.Made),
		"SEQUENCE:0",
		"DTSTART:" + ical.UTC(w.At),
		"DURATION:PT15M",
		"ORGANIZER:mailto:" + ical.Plain(w.Organizer),
		"SUMMARY:" + ical.Text(w.Title),
		"DESCRIPTION:" + ical.Text(w.About),
		"TRANSP:TRANSPARENT",
		"BEGIN:VALARM",
		"ACTION:DISPLAY",
		"TRIGGER:PT0M",
		"DESCRIPTION:" + ical.Text(w.Title),
		"END:VALARM",
		"END:VEVENT",
		"END:VCALENDAR",
	})
}
