package conversation

import (
	"time"

	"tubhand/internal/smstext"
	"tubhand/internal/wording"
)

// open tells whether the shop is open now. A shop without hours always is.
func (t *turn) open() bool { return t.within(t.w.shop.Hours) }

// onDuty tells whether a person is on call now.
func (t *turn) onDuty(p Pager) bool { return t.within(p.Hours) }

func (t *turn) within(hours []OpenHours) bool {
	if len(hours) == 0 {
		return true
	}
	local := t.now.In(t.w.home)
	minute := local.Hour()*60 + local.Minute()
	for _, h := range hours {
		if h.Weekday == int(local.Weekday()) && minute >= h.Open && minute < h.Close {
			return true
		}
	}
	return false
}

// untilOpen is the time until the shop opens next.
func (t *turn) untilOpen() time.Duration {
	local := t.now.In(t.w.home)
	for ahead := range 8 {
		day := local.AddDate(0, 0, ahead)
		for _, h := range t.w.shop.Hours {
			at := time.Date(day.Year(), day.Month(), day.Day(), h.Open/60, h.Open%60, 0, 0, t.w.home)
			if h.Weekday == int(day.Weekday()) && at.After(t.now) {
				return at.Sub(t.now)
			}
		}
	}
	return time.Hour
}

// toStaff texts a member of staff. Staff get their pages whatever the owner has opted
// out of.
func (t *turn) toStaff(who Pager, key string, words *wording.Words) {
	text, ok := t.w.words.Say(t.w.shop.Language, wording.Common, key, words)
	if !ok {
		return
	}
	l := Line{Direction: Page, By: who.Key, Text: smstext.Fold(text), Send: true, Class: ClassPage, To: who.Address}
	l.ID, l.Conversation, l.At = t.id(), t.c.ID, t.now
	l.Gateway, l.From = t.w.shop.Gateway, t.w.shop.Line
	t.fx.Lines = append(t.fx.Lines, l)
}
