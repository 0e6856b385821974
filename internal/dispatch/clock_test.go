package dispatch_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

// wrong is the machine's clock, off by so much. Like a clock that an operator or a time
// service sets, it jumps either way while whoever waits on it goes on waiting.
type wrong struct{ by atomic.Int64 }

func (w *wrong) off() time.Duration { return time.Duration(w.by.Load()) }

func (w *wrong) set(by time.Duration) { w.by.Store(int64(by)) }

// Now implements clock.Clock.
func (w *wrong) Now() time.Time { return clock.System().Now().Add(w.off()) }

// Wait implements clock.Clock.
func (w *wrong) Wait(ctx context.Context, at time.Time, wake <-chan struct{}) error {
	if !at.IsZero() {
		at = at.Add(-w.off())
	}
	return clock.System().Wait(ctx, at, wake)
}

// TestAClockThatIsSetForwardFiresWhatItPasses: what was to come in the time that is
// skipped comes at once, in the order of its times, each once.
func TestAClockThatIsSetForwardFiresWhatItPasses(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		c := &wrong{}
		b := setup(t, c)
		defer b.Stop()
		b.Start(t.Context())
		b.text(t, "ann", "remind 2h,remind 1h,remind 30h")
		pass(time.Minute)
		c.set(24 * time.Hour)
		pass(time.Minute + time.Millisecond) // it is noticed within a minute
		require.Equal(t, []string{"due 1h", "due 2h"}, b.notes(t, "ann"))
		c.set(0) // and back
		pass(6 * time.Hour)
		require.Equal(t, []string{"due 1h", "due 2h"}, b.notes(t, "ann"), "none twice")
		pass(24 * time.Hour)
		require.Equal(t, []string{"due 1h", "due 2h", "due 30h"}, b.notes(t, "ann"))
		require.Equal(t, []string{"it is time: 1h", "it is time: 2h", "it is time: 30h"}, b.carrier.texts())
	})
}

// TestAClockThatIsSetBackLosesNothing: new texts are answered at once, what was to be
// tried again or comes due is late by no more than the jump.
func TestAClockThatIsSetBackLosesNothing(t *testing.T) {
	const back = 3 * time.Hour
	synctest.Test(t, func(t *testing.T) {
		c := &wrong{}
		b := setup(t, c)
		defer b.Stop()
		b.carrier.answer = func(l conversation.Line, try int) store.Result {
			if l.Text == "1" && try == 1 {
				return store.Result{Kind: store.Retry, Why: "busy"}
			}
			return store.Result{Kind: store.Sent}
		}
		b.Start(t.Context())
		b.text(t, "ann", "say 1,say 2,remind 10m")
		pass(time.Second)
		require.Empty(t, b.carrier.texts(), "put off by some seconds")
		c.set(-back)
		b.text(t, "bob", "say hello,remind 5m")
		pass(time.Second)
		require.Equal(t, []string{"hello"}, b.carrier.texts(), "whoever writes is answered at once")
		pass(10 * time.Minute)
		require.Equal(t, []string{"hello", "it is time: 5m"}, b.carrier.texts())
		pass(back)
		require.Equal(t, []string{"hello", "it is time: 5m", "1", "2", "it is time: 10m"}, b.carrier.texts())
		require.Zero(t, b.counts(t).Outbox)
		require.Zero(t, b.counts(t).Reminders)
	})
}

// TestAMachineThatSleepsDuringASend: its lease is over when it wakes, and the message is
// not sent a second time beside the attempt that is still in hand.
func TestAMachineThatSleepsDuringASend(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		c := &wrong{}
		b := setup(t, c)
		defer b.Stop()
		b.carrier.takes = 5 * time.Second
		b.Start(t.Context())
		b.text(t, "ann", "say 1,say 2")
		pass(time.Second)
		c.set(10 * time.Minute)
		b.text(t, "bob", "say hello") // has the outbox look again
		pass(time.Minute)
		require.Equal(t, []string{"1", "hello", "2"}, b.carrier.texts())
		require.Len(t, b.carrier.tries, 3)
	})
}

// TestWhatIsSentIsNotSentAgainWhileTheStoreCannotBeTold: longer than a lease runs.
func TestWhatIsSentIsNotSentAgainWhileTheStoreCannotBeTold(t *testing.T) {
	in(t, func(t *testing.T, b *bench) {
		for range 100 {
			b.queue.settle = append(b.queue.settle, errors.New("disk full"))
		}
		b.text(t, "ann", "say 1,say 2")
		b.Start(t.Context())
		pass(10 * time.Minute)
		require.Equal(t, []string{"1", "2"}, b.carrier.texts())
		require.Equal(t, repeat("sent", 2), b.delivery(t, "ann"))
		t.Log("a store that took no results for 50 s, more than two leases: each message was sent once all the same")
	})
}

// TestAClockThatJumpsAtRandom sets the clock forward and back again and again, also while
// messages and reminders are in hand and the carrier is in a mood, and in the end right:
// everything is there once, in order.
func TestAClockThatJumpsAtRandom(t *testing.T) {
	const owners, rounds = 6, 60
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	jumps, tries := 0, 0
	synctest.Test(t, func(t *testing.T) {
		chance := rand.New(rand.NewPCG(seed, 1))
		mood := rand.New(rand.NewPCG(seed, 2))
		c := &wrong{}
		b := setup(t, c)
		defer b.Stop()
		b.carrier.takes = 30 * time.Millisecond
		b.carrier.answer = func(conversation.Line, int) store.Result { // it holds its own lock
			if mood.IntN(5) == 0 {
				return store.Result{Kind: store.Retry, Why: "busy"}
			}
			return store.Result{Kind: store.Sent}
		}
		b.Start(t.Context())
		said := map[string][]string{}
		for round := range rounds {
			who := fmt.Sprint("owner", chance.IntN(owners))
			b.text(t, who, fmt.Sprintf("say %d,remind %dm", round, 1+chance.IntN(90)))
			said[who] = append(said[who], fmt.Sprint(round))
			pass(time.Duration(chance.IntN([]int{90_000, 60}[round%2])) * time.Millisecond)
			if chance.IntN(2) == 0 {
				c.set(time.Duration(chance.IntN(12*3600)-6*3600) * time.Second)
				jumps++
			}
		}
		c.set(0)
		pass(24 * time.Hour)
		tries = len(b.carrier.tries)
		require.Zero(t, b.counts(t).Outbox)
		require.Zero(t, b.counts(t).Reminders)
		for who, texts := range said {
			require.Equal(t, texts, answersTo(b, who), "%s: each once, in order", who)
			require.Len(t, b.notes(t, who), len(texts), "%s: each reminder once", who)
			require.Equal(t, decided(b.lines(t, who)), carried(b, who), "%s: sent in the order that was decided", who)
		}
	})
	t.Logf("%d texts of %d owners with a reminder each, the clock set %d times by up to 6 h either way, %d attempts to send: none lost, none doubled, in order",
		rounds, owners, jumps, tries)
}

// carried lists the ids of what was carried to an owner, in order.
func carried(b *bench, who string) (ids []string) {
	b.carrier.mu.Lock()
	defer b.carrier.mu.Unlock()
	for _, l := range b.carrier.sent {
		if l.To == who {
			ids = append(ids, l.ID)
		}
	}
	return ids
}

// decided lists the ids of what a conversation said, in order.
func decided(lines []conversation.Line) (ids []string) {
	for _, l := range lines {
		if l.Send {
			ids = append(ids, l.ID)
		}
	}
	return ids
}

// answersTo lists what an owner was told that was no reminder.
func answersTo(b *bench, who string) (texts []string) {
	b.carrier.mu.Lock()
	defer b.carrier.mu.Unlock()
	for _, l := range b.carrier.sent {
		if l.To == who && !slices.Contains([]string{"it"}, l.Text[:min(2, len(l.Text))]) {
			texts = append(texts, l.Text)
		}
	}
	return texts
}
