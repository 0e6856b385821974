package dispatch

import (
	"context"
	"errors"
	"time"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/turn"
)

// A reminder whose turn breaks off is tried again when its lease has run out, this many
// times in all; then a person is told in its place. Where not even that can be committed
// it rests for a while, so that a flaw or a shop that is gone keeps nothing busy.
const (
	mostTries = 5
	restFor   = time.Hour
)

// trouble is what became of a reminder so far. It is kept in memory only: after a
// restart, which may have mended it, a reminder gets its tries anew.
type trouble struct {
	tries int
	until time.Time // it rests
}

// forGood tells whether an error will not mend by itself, as a full disk or a busy
// conversation may.
func forGood(err error) bool {
	return errors.Is(err, turn.ErrPanic) || errors.Is(err, turn.ErrNoShop) || errors.Is(err, store.ErrNotFound)
}

func troubleKey(d store.Due) string { return d.Shop + " " + d.Reminder.ID }

// resting tells whether a reminder is left alone for now.
func (r *reminders) resting(d store.Due) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.Clock.Now().Before(r.troubles[troubleKey(d)].until)
}

// forget drops what was known of a reminder that has been handled.
func (r *reminders) forget(d store.Due) {
	r.mu.Lock()
	defer r.mu.Unlock()
	delete(r.troubles, troubleKey(d))
}

// tried counts a try that failed for good, and tells whether it was the last.
func (r *reminders) tried(d store.Due) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.troubles == nil {
		r.troubles = map[string]trouble{}
	}
	t := r.troubles[troubleKey(d)]
	t.tries++
	last := t.tries >= mostTries
	if last {
		t.until = r.Clock.Now().Add(restFor)
	}
	r.troubles[troubleKey(d)] = t
	return last
}

// giveUp has a person told of a reminder that can't be handled, in its place: the event
// bears its id, so that the reminder leaves the store with it.
func (r *reminders) giveUp(ctx context.Context, d store.Due) {
	err := r.Turns.Handle(ctx, d.Shop, conversation.Event{
		ID: d.Reminder.ID, Kind: conversation.ReminderDead,
		From: d.Reminder.Conversation, Reminder: d.Reminder,
	})
	if err != nil {
		r.Log.Error("a reminder can be handled in no way; it rests", "shop", d.Shop, "name", d.Reminder.Name, "for", restFor.String(), "error", err)
		return
	}
	r.forget(d)
	r.Log.Error("a reminder was given up; a person is told instead", "shop", d.Shop, "name", d.Reminder.Name, "tries", mostTries)
}
