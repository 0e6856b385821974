package dispatch

import (
	"context"
	"sync"
	"time"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

// reminders hands due reminders in as events. One goroutine claims; the reminders of
// one conversation follow each other in the order of their times, all others go side
// by side, so that the store can commit many in one go.
type reminders struct {
	Config
	wake chan struct{} // a turn left reminders, or room has come free

	mu       sync.Mutex
	inHand   int
	troubles map[string]trouble // reminders whose turns broke off
}

// run works until claiming ends and the last turn in hand has ended.
func (r *reminders) run(claiming, turning context.Context) {
	var all sync.WaitGroup
	defer all.Wait()
	for claiming.Err() == nil {
		free := r.free()
		if free <= r.Turners/2 { // claims are cheaper in large numbers
			_ = r.Clock.Wait(claiming, time.Time{}, r.wake)
			continue
		}
		now := r.Clock.Now()
		due := r.claim(now, free)
		r.take(len(due))
		for _, ofOne := range byConversation(due) {
			all.Go(func() { r.handle(turning, ofOne) })
		}
		if len(due) < free {
			r.rest(claiming, now, r.wake)
		}
	}
}

// claim is not cut short: what was leased and not heard of would wait for its lease.
func (r *reminders) claim(now time.Time, n int) []store.Due {
	ctx, done := context.WithTimeout(context.Background(), turnTimeout)
	defer done()
	due, err := r.Queue.ClaimDue(ctx, now, lease, n)
	if err != nil {
		r.Log.Error("due reminders cannot be read", "error", err)
	}
	return due
}

func (r *reminders) free() int {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.Turners - r.inHand
}

// take notes n more reminders in hand, or fewer when n is negative.
func (r *reminders) take(n int) {
	r.mu.Lock()
	before := r.inHand
	r.inHand += n
	after := r.inHand
	r.mu.Unlock()
	if half := r.Turners / 2; after < half && before >= half {
		poke(r.wake)
	}
}

// byConversation groups reminders, keeping their order.
func byConversation(due []store.Due) [][]store.Due {
	at := make(map[store.Change]int, len(due))
	var groups [][]store.Due
	for _, d := range due {
		key := store.Change{Shop: d.Shop, Conversation: d.Reminder.Conversation}
		i, ok := at[key]
		if !ok {
			i = len(groups)
			at[key] = i
			groups = append(groups, nil)
		}
		groups[i] = append(groups[i], d)
	}
	return groups
}

// handle runs the turns of one conversation's reminders. One that fails comes again
// when its lease has run out, and is given up where that never mends.
func (r *reminders) handle(ctx context.Context, due []store.Due) {
	defer r.take(-len(due))
	for _, d := range due {
		if r.resting(d) {
			continue
		}
		ctx, done := context.WithTimeout(ctx, turnTimeout)
		err := r.Turns.Handle(ctx, d.Shop, conversation.Event{
			ID: d.Reminder.ID, Kind: conversation.ReminderDue,
			From: d.Reminder.Conversation, Reminder: d.Reminder,
		})
		switch {
		case err == nil:
			r.forget(d)
		case forGood(err) && r.tried(d):
			r.giveUp(ctx, d)
		default:
			r.Log.Error("a reminder was not handled; it comes again", "shop", d.Shop, "name", d.Reminder.Name, "error", err)
		}
		done()
	}
}
