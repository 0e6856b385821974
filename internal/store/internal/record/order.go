package record

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"tubhand/internal/conversation"
	"tubhand/internal/safety"
	"tubhand/internal/store"
)

// The delivery states of a line.
const (
	Queued    = "queued"
	Dropped   = "dropped"
	SentOff   = "sent"
	Delivered = "delivered"
	Failed    = "failed"
)

// early sets fresh messages before everything that waits for a time (see Fresh). It is
// some 2,200 years in milliseconds.
const early = int64(1) << 46

// Milli is a time as the stores keep it: milliseconds since 1970.
func Milli(t time.Time) int64 { return t.UnixMilli() }

// Time is the time that Milli was made from, in UTC.
func Time(ms int64) time.Time { return time.UnixMilli(ms).UTC() }

// Fresh is the place in the outbox's order of a message that was never tried. It counts
// as ready whatever the clock says, so that a clock set back holds nobody's message up;
// among themselves fresh messages keep the order in which they were queued.
func Fresh(queued int64) int64 { return queued - early }

// Ready is the time in milliseconds that a place in the outbox's order stands for.
func Ready(place int64) int64 {
	if place < early/-2 {
		return place + early
	}
	return place
}

// Forward tells whether a delivery state may follow another: states move forward only,
// and what was delivered or failed is at its end.
func Forward(from, to string) bool { return progress(to) > progress(from) }

func progress(state string) int {
	switch state {
	case Dropped:
		return 1
	case SentOff:
		return 2
	case Delivered, Failed:
		return 3
	}
	return 0
}

// CheckReport tells whether a delivery report names a state that one can report.
func CheckReport(state string) error {
	if state == SentOff || state == Delivered || state == Failed {
		return nil
	}
	return fmt.Errorf("delivery report %q is none of sent, delivered, failed", state)
}

// CheckResults tells whether every result has a kind that the contract knows.
func CheckResults(results []store.Result) error {
	for _, r := range results {
		if r.Kind != store.Sent && r.Kind != store.Retry && r.Kind != store.Failed {
			return fmt.Errorf("result of line %q: kind %q is none of sent, retry, failed", r.Line, r.Kind)
		}
	}
	return nil
}

// Rank orders handovers: the smaller, the worse.
func Rank(severity string) int64 { return -int64(safety.Severity(severity).Rank()) }

// WorstFirst sorts open handovers: worst first, then the oldest.
func WorstFirst(list []conversation.Handover) {
	slices.SortStableFunc(list, func(a, b conversation.Handover) int {
		return cmp.Or(cmp.Compare(Rank(a.Severity), Rank(b.Severity)), a.Opened.Compare(b.Opened), cmp.Compare(a.ID, b.ID))
	})
}

// LastClosedFirst sorts closed handovers.
func LastClosedFirst(list []conversation.Handover) {
	slices.SortStableFunc(list, func(a, b conversation.Handover) int {
		return cmp.Or(b.Closed.Compare(a.Closed), cmp.Compare(a.ID, b.ID))
	})
}

// EarliestFirst sorts reminders by when they are due.
func EarliestFirst(list []conversation.Reminder) {
	slices.SortStableFunc(list, func(a, b conversation.Reminder) int {
		return cmp.Or(a.Due.Compare(b.Due), cmp.Compare(a.ID, b.ID))
	})
}

// Limit bounds a limit to 1 through most.
func Limit(n, most int) int { return max(1, min(n, most)) }
