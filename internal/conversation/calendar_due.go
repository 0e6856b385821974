package conversation

import (
	"strings"
	"time"
)

// How seldom an owner is asked about jobs that come round: "a few times a year" is what they
// agreed to, and who does not answer twice is not asked again before they write. Our
// decisions.
const (
	choresApart   = 60 * 24 * time.Hour
	flushApart    = 14 * 24 * time.Hour // from the season's own text about the flush
	mostUnheeded  = 2
	soonestChores = 7 * 24 * time.Hour
)

// setChores sets when the owner is asked next about what is due, where they have agreed to
// that; the pipes have a text of their own (askMonths).
func (t *turn) setChores() {
	if p, ok := t.c.Consent.Seasonal[askChores]; ok {
		t.takeBack(p)
		delete(t.c.Consent.Seasonal, askChores)
	}
	if !t.c.Allows(ForChores) || t.c.OptedOut || t.c.Calendar.Silent >= mostUnheeded {
		return
	}
	next, ok := t.nextAsked()
	if !ok {
		return
	}
	at := laterOf(next.At, laterOf(t.now.Add(soonestChores), t.c.Calendar.Asked.Add(choresApart)))
	if flush, ok := t.c.Consent.Seasonal["flush_plumbing"]; ok && at.After(flush.Due.Add(-flushApart)) && at.Before(flush.Due.Add(flushApart)) {
		at = flush.Due.Add(choresApart)
	}
	t.setSeasonal(askChores, t.seasonDay(at.Sub(t.now)))
}

// nextAsked is the job that is asked about next: fresh water before filters, since it does
// both; tests are weekly and never asked about.
func (t *turn) nextAsked() (next DueChore, ok bool) {
	for _, d := range DueChores(&t.c) {
		asked := d.Chore == ChoreRefill || d.Chore == ChoreFilters || d.Chore == ChoreFlush && t.c.Consent.Seasonal["flush_plumbing"].ID == ""
		if _, planned := t.c.Consent.Seasonal[plannedFor+string(d.Chore)]; !asked || planned {
			continue
		}
		if !ok || weight(d.Chore) > weight(next.Chore) && !d.At.After(t.now) {
			next, ok = d, true
		}
	}
	return next, ok
}

func weight(chore Chore) int {
	switch chore {
	case ChoreFlush:
		return 3
	case ChoreRefill:
		return 2
	case ChoreFilters:
		return 1
	}
	return 0
}

// choresDue asks about the job that matters most of what is due.
func (t *turn) choresDue() {
	next, ok := t.nextAsked()
	if !ok || next.At.After(t.now.Add(flushApart)) {
		t.setChores() // done meanwhile: the next one has its own day
		return
	}
	t.c.Calendar.Asked = t.now
	t.c.Calendar.Silent++
	t.class = ClassSeasonal
	t.openPlan(next.Chore, false)
	t.sayCalendar("due", next.Chore, next.At)
	t.setChores()
}

// plannedDue reminds of a job at the time that was agreed on.
func (t *turn) plannedDue(chore Chore) {
	t.class = ClassReminder
	t.openPlan(chore, false)
	t.sayCalendar("planned", chore, time.Time{})
}

// againDue asks the one time more that LATER asked for.
func (t *turn) againDue(chore Chore) {
	t.class = ClassReminder
	t.openPlan(chore, true)
	t.sayCalendar("again", chore, time.Time{})
}

// calendarDue says what a reminder of the calendar is for; false for any other.
func (t *turn) calendarDue(name string) bool {
	if chore, ok := strings.CutPrefix(name, plannedFor); ok {
		t.plannedDue(Chore(chore))
		return true
	}
	if chore, ok := strings.CutPrefix(name, askAgain); ok {
		t.againDue(Chore(chore))
		return true
	}
	if name == askChores {
		if t.c.Allows(ForChores) {
			t.choresDue()
		}
		return true
	}
	return false
}
