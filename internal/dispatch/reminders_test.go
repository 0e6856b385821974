package dispatch_test

import (
	"errors"
	"fmt"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/store/memory"
	"tubhand/internal/turn"
)

func TestRemindersFireWhenTheyAreDue(t *testing.T) {
	in(t, func(t *testing.T, b *bench) {
		b.Start(t.Context())
		pass(time.Minute)
		b.text(t, "ann", "remind 30m,remind 100ms")
		pass(90 * time.Millisecond)
		require.Empty(t, b.notes(t, "ann"))
		pass(15 * time.Millisecond)
		require.Equal(t, []string{"due 100ms"}, b.notes(t, "ann"))
		pass(30*time.Minute - 110*time.Millisecond)
		require.Equal(t, []string{"due 100ms"}, b.notes(t, "ann"))
		pass(10 * time.Millisecond)
		require.Equal(t, []string{"due 100ms", "due 30m"}, b.notes(t, "ann"))
		require.Equal(t, []string{"it is time: 100ms", "it is time: 30m"}, b.carrier.texts(), "and what they say goes out")
		require.Zero(t, b.counts(t).Reminders)
	})
}

func TestAJumpFiresWhatItPasses(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		c := clock.NewStill(noon)
		b := setup(t, c)
		defer b.Stop()
		b.Start(t.Context())
		b.text(t, "ann", "remind 30m,remind 2h")
		synctest.Wait()
		c.Jump(30 * time.Minute)
		synctest.Wait()
		require.Equal(t, []string{"due 30m"}, b.notes(t, "ann"))
		c.Jump(30 * 24 * time.Hour)
		synctest.Wait()
		require.Equal(t, []string{"due 30m", "due 2h"}, b.notes(t, "ann"))
	})
}

func TestRemindersOfOneConversationFollowTheirTimes(t *testing.T) {
	in(t, func(t *testing.T, b *bench) {
		b.text(t, "ann", "remind 3s,remind 1s,remind 4s,remind 2s")
		b.text(t, "bob", "remind 2s,remind 1s")
		pass(time.Hour) // the server was down
		b.Start(t.Context())
		pass(time.Millisecond)
		require.Equal(t, []string{"due 1s", "due 2s", "due 3s", "due 4s"}, b.notes(t, "ann"))
		require.Equal(t, []string{"due 1s", "due 2s"}, b.notes(t, "bob"))
	})
}

func TestAReminderIsHandledOnceHoweverOftenItIsGivenOut(t *testing.T) {
	in(t, func(t *testing.T, b *bench) {
		b.text(t, "ann", "remind 1s")
		pass(time.Second)
		due, err := b.store.ClaimDue(t.Context(), time.Now(), time.Second, 10)
		require.NoError(t, err)
		require.Len(t, due, 1)
		again := conversation.Event{ID: due[0].Reminder.ID, Kind: conversation.ReminderDue, From: "ann", Reminder: due[0].Reminder}
		require.NoError(t, b.turns.Handle(t.Context(), "fern", again))
		require.NoError(t, b.turns.Handle(t.Context(), "fern", again))
		b.Start(t.Context())
		pass(time.Minute)
		require.Equal(t, []string{"due 1s"}, b.notes(t, "ann"))
	})
}

// moody fails the first turns that are not texts.
type moody struct{ fails int }

func (m *moody) Decide(c conversation.Conversation, ev conversation.Event, now time.Time) (conversation.Conversation, conversation.Effects) {
	if ev.Kind != conversation.TextIn && m.fails > 0 {
		m.fails--
		panic("a flaw")
	}
	return script{}.Decide(c, ev, now)
}

func TestAReminderWhoseTurnFailsComesAgain(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := setupOn(t, clock.System(), memory.New(), &moody{fails: 2})
		defer b.Stop()
		b.queue.claimR = []error{nil, errors.New("disk full")}
		b.Start(t.Context())
		b.text(t, "ann", "remind 1s")
		pass(time.Second)
		require.Empty(t, b.notes(t, "ann"))
		pass(time.Minute)
		require.Equal(t, []string{"due 1s"}, b.notes(t, "ann"))
	})
}

// flawed panics at every reminder, and at those given up too where worse is set.
type flawed struct{ worse bool }

func (f flawed) Decide(c conversation.Conversation, ev conversation.Event, now time.Time) (conversation.Conversation, conversation.Effects) {
	if ev.Kind == conversation.ReminderDue || f.worse && ev.Kind == conversation.ReminderDead {
		panic("a flaw")
	}
	if ev.Kind == conversation.ReminderDead {
		return script{}.Decide(c, conversation.Event{ID: ev.ID, Kind: conversation.ReminderDue, Reminder: conversation.Reminder{Name: "given up"}}, now)
	}
	return script{}.Decide(c, ev, now)
}

func TestAReminderThatAlwaysFailsIsGivenUpForAPerson(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := setupOn(t, clock.System(), memory.New(), flawed{})
		defer b.Stop()
		b.Start(t.Context())
		b.text(t, "ann", "remind 1s")
		pass(time.Minute)
		require.Empty(t, b.notes(t, "ann"), "it may mend yet")
		pass(2 * time.Minute)
		require.Equal(t, []string{"due given up"}, b.notes(t, "ann"))
		require.Zero(t, b.counts(t).Reminders, "it left the store with what was told in its place")
	})
}

// TestWhatCanBeHandledInNoWayRests: nothing keeps the processor and the log busy for
// ever, and what has mended meanwhile goes on.
func TestWhatCanBeHandledInNoWayRests(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		calls := &counting{Decider: flawed{worse: true}}
		b := setupOn(t, clock.System(), memory.New(), calls)
		defer b.Stop()
		b.Start(t.Context())
		b.text(t, "ann", "remind 1s")
		pass(10 * time.Minute)
		tried := calls.count()
		require.Equal(t, 1+5+1, tried, "a text, five tries, and the attempt to tell a person")
		pass(40 * time.Minute)
		require.Equal(t, tried, calls.count())
		calls.mend()
		pass(time.Hour)
		require.Equal(t, []string{"due 1s"}, b.notes(t, "ann"))
	})
}

// counting counts decisions.
type counting struct {
	turn.Decider
	mu sync.Mutex
	n  int
}

func (c *counting) Decide(conv conversation.Conversation, ev conversation.Event, now time.Time) (conversation.Conversation, conversation.Effects) {
	c.mu.Lock()
	c.n++
	decider := c.Decider
	c.mu.Unlock()
	return decider.Decide(conv, ev, now)
}

func (c *counting) count() int {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.n
}

func (c *counting) mend() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.Decider = script{}
}

func TestAFailedDeliveryWaitsUntilAPersonHasIt(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := setupOn(t, clock.System(), memory.New(), &moody{fails: 2})
		defer b.Stop()
		b.Start(t.Context())
		b.text(t, "ann", "elsewhere lost,say next")
		pass(time.Millisecond)
		require.Empty(t, b.carrier.texts(), "it is not forgotten, so it still holds its place")
		pass(time.Minute)
		require.Equal(t, []string{"dead lost"}, b.notes(t, "ann"))
		require.Equal(t, []string{"next"}, b.carrier.texts())
		require.Equal(t, []string{"failed", "sent"}, b.delivery(t, "ann"))
	})
}

func TestManyRemindersAtOneSecond(t *testing.T) {
	in(t, func(t *testing.T, b *bench) {
		const owners = 3000
		for i := range owners {
			b.text(t, fmt.Sprint("owner", i), "remind 1h")
		}
		b.Start(t.Context())
		pass(time.Hour)
		require.Len(t, b.carrier.sent, owners)
		require.Zero(t, b.counts(t).Reminders)
		require.EqualValues(t, 2*owners, b.counts(t).Turns)
	})
}
