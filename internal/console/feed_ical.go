package console

import (
	"crypto/sha256"
	"encoding/hex"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"tubhand/internal/conversation"
)

// The bounds of a feed: what has passed is of no more use than a week, and no calendar is
// given more events than this, the earliest first. Our decisions.
const (
	feedPastDays = 7
	mostEvents   = 500
)

// feedEvent is one event of the feed.
type feedEvent struct {
	uid, title string
	at         time.Time // on the shop's clock
	hour       bool      // the owner agreed on the hour; else it is for the whole day
}

// feedEvents are what is coming on the shop's tubs: what owners have agreed on, and the days
// on which the jobs of months are due. Weekly ones would bury those.
func (s *site) feedEvents() []feedEvent {
	now := s.Clock.Now()
	today := s.day(now)
	var list []feedEvent
	s.due.mu.Lock()
	defer s.due.mu.Unlock()
	for day := today - feedPastDays; day < today+7*feedWeeks && len(list) < mostEvents; day++ {
		entries := slices.SortedFunc(slices.Values(s.due.days[day]), dueEntry.compare)
		for _, e := range entries {
			weekly := e.chore == conversation.ChoreTest || e.chore == conversation.ChoreRinse
			if e.tub.optedOut || weekly && !e.agreed || len(list) == mostEvents {
				continue
			}
			list = append(list, feedEvent{uid: s.eventID(e.tub.id, e.chore), title: eventTitle(&e), at: time.UnixMilli(e.at).In(s.zone), hour: e.agreed})
		}
	}
	return list
}

// eventID is the same for a job of a tub whenever the feed is read, and names nobody.
func (s *site) eventID(id string, chore conversation.Chore) string {
	sum := sha256.Sum256([]byte(s.Shop.Key + "\x00" + id + "\x00" + string(chore)))
	return hex.EncodeToString(sum[:12]) + "@" + s.Shop.Key + ".tubhand.invalid"
}

// eventTitle names the owner as far as a calendar that lies elsewhere should know them: by
// name, else by the end of their number.
func eventTitle(e *dueEntry) string {
	name := e.tub.name
	if id := e.tub.id; name == numberWords(id) {
		name = "owner ending in " + id[max(0, len(id)-4):]
		if strings.Contains(id, "@") {
			name = "an owner by e-mail"
		}
	}
	if e.agreed {
		return choreWords(e.chore) + " (agreed): " + name
	}
	return choreWords(e.chore) + " due: " + name
}

// writeFeed gives the iCalendar object (RFC 5545; NAME and REFRESH-INTERVAL are of RFC 7986),
// in UTF-8 with CRLF line ends.
func writeFeed(shop string, events []feedEvent, now time.Time) []byte {
	const utc, day = "20060102T150405Z", "20060102"
	lines := []string{
		"BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//tubhand//what is due//EN", "CALSCALE:GREGORIAN",
		"NAME:" + eventText(shop+": what is due"), "REFRESH-INTERVAL;VALUE=DURATION:PT1H",
	}
	for _, e := range events {
		lines = append(lines, "BEGIN:VEVENT", "UID:"+eventText(e.uid), "DTSTAMP:"+now.UTC().Format(utc), "SUMMARY:"+eventText(e.title), "TRANSP:TRANSPARENT")
		if e.hour {
			lines = append(lines, "DTSTART:"+e.at.UTC().Format(utc), "DURATION:PT1H")
		} else {
			lines = append(lines, "DTSTART;VALUE=DATE:"+e.at.Format(day), "DURATION:P1D")
		}
		lines = append(lines, "END:VEVENT")
	}
	var b strings.Builder
	for _, line := range append(lines, "END:VCALENDAR") {
		foldLine(&b, line)
	}
	return []byte(b.String())
}

// eventText escapes a value of type TEXT (RFC 5545, 3.3.11) and drops what no text may have.
func eventText(s string) string {
	s = strings.NewReplacer("\\", "\\\\", ";", "\\;", ",", "\\,", "\r\n", "\\n", "\n", "\\n", "\r", "\\n").Replace(strings.ToValidUTF8(s, "?"))
	return strings.Map(func(r rune) rune {
		if r < ' ' && r != '\t' || r == 0x7f {
			return -1
		}
		return r
	}, s)
}

// widestLine is how many octets a line may have without its end (RFC 5545, 3.1).
const widestLine = 75

// foldLine writes a line in pieces that begin with a blank, never within a character.
func foldLine(b *strings.Builder, line string) {
	room := widestLine
	for len(line) > room {
		cut := room
		for !utf8.RuneStart(line[cut]) {
			cut--
		}
		b.WriteString(line[:cut] + "\r\n ")
		line, room = line[cut:], widestLine-1
	}
	b.WriteString(line + "\r\n")
}
