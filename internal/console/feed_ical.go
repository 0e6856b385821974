package console

import (
	"crypto/sha256"
	"encoding/hex"
	"slices"
	"strings"
	"time"

	"tubhand/internal/conversation"
	"tubhand/internal/ical"
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
	lines := []string{
		"BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//tubhand//what is due//EN", "CALSCALE:GREGORIAN",
		"NAME:" + ical.Text(shop+": what is due"), "REFRESH-INTERVAL;VALUE=DURATION:PT1H",
	}
	for _, e := range events {
		lines = append(lines, "BEGIN:VEVENT", "UID:"+ical.Text(e.uid), "DTSTAMP:"+ical.UTC(now), "SUMMARY:"+ical.Text(e.title), "TRANSP:TRANSPARENT")
		if e.hour {
			lines = append(lines, "DTSTART:"+ical.UTC(e.at), "DURATION:PT1H")
		} else {
			lines = append(lines, "DTSTART;VALUE=DATE:"+e.at.Format("20060102"), "DURATION:P1D")
		}
		lines = append(lines, "END:VEVENT")
	}
	return ical.Lines(append(lines, "END:VCALENDAR"))
}
