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
	_, in := t.span(hours)
	return in || len(hours) == 0
}

// span finds the hours that now lies in.
func (t *turn) span(hours []OpenHours) (OpenHours, bool) {
	local := t.now.In(t.w.home)
	minute := local.Hour()*60 + local.Minute()
	for _, h := range hours {
		if h.Weekday == int(local.Weekday()) && minute >= h.Open && minute < h.Close {
			return h, true
		}
	}
	return OpenHours{}, false
}

// opening finds when the shop opens next, and how many days ahead that is.
func (t *turn) opening() (h OpenHours, at time.Time, days int) {
	local := t.now.In(t.w.home)
	for days = range 8 {
		day := local.AddDate(0, 0, days)
		for _, h := range t.w.shop.Hours {
			at = time.Date(day.Year(), day.Month(), day.Day(), h.Open/60, h.Open%60, 0, 0, t.w.home)
			if h.Weekday == int(day.Weekday()) && at.After(t.now) {
				return h, at, days
			}
		}
	}
	return OpenHours{}, t.now.Add(time.Hour), 0 // no hours: it never comes to this
}

// untilOpen is the time until the shop opens next.
func (t *turn) untilOpen() time.Duration {
	_, at, _ := t.opening()
	return at.Sub(t.now)
}

// hoursText tells an owner when a person can be expected.
func (t *turn) hoursText() string {
	if len(t.w.shop.Hours) == 0 {
		return ""
	}
	if h, ok := t.span(t.w.shop.Hours); ok {
		return t.tongue().openUntil(h.Close)
	}
	h, _, days := t.opening()
	return t.tongue().opens(days, time.Weekday(h.Weekday), h.Open)
}

// tellClosed tells an owner whose case was opened outside opening hours when someone
// will be there, and that emergencies are not for this line. An answer to an emergency
// and an opt-out's confirmation stand alone.
func (t *turn) tellClosed() {
	if t.closedNow() && len(t.says) > 0 && t.class != ClassSafety && t.class != ClassOptOut && t.class != ClassStaff {
		words := t.words()
		words.Hours = t.hoursText()
		t.sayWith("closed_now", words)
	}
}

// closedNow tells whether a case was opened in this turn while nobody is there.
func (t *turn) closedNow() bool { return t.opened && !t.open() }

// toStaff texts a member of staff. Staff get their pages whatever the owner has opted
// out of.
func (t *turn) toStaff(who Pager, key string, words *wording.Words) {
	text, ok := t.w.words.Say(t.w.shop.Language, wording.Common, key, words)
	if !ok {
		return
	}
	t.line(Line{Direction: Page, By: who.Key, Text: smstext.Fold(text), Send: true, Class: ClassPage, To: who.Address})
}
