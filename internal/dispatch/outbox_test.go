package dispatch_test

import (
	"errors"
	"fmt"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

// in runs a test in a bubble, whose clock is the machine's as far as dispatch can tell.
func in(t *testing.T, test func(*testing.T, *bench)) {
	synctest.Test(t, func(t *testing.T) {
		b := setup(t, clock.System())
		defer b.Stop()
		test(t, b)
	})
}

// pass lets d go by and everything in it happen.
func pass(d time.Duration) {
	<-time.After(d)
	synctest.Wait()
}

func TestMessagesGoOutAsSoonAsTheTurnIsCommitted(t *testing.T) {
	in(t, func(t *testing.T, b *bench) {
		b.text(t, "ann", "say before the start")
		b.Start(t.Context())
		pass(time.Millisecond)
		require.Equal(t, []string{"before the start"}, b.carrier.texts())
		b.text(t, "ann", "say after it")
		pass(time.Millisecond)
		require.Equal(t, []string{"before the start", "after it"}, b.carrier.texts())
		require.Equal(t, repeat("sent", 2), b.delivery(t, "ann"))
		require.Zero(t, b.counts(t).Outbox)
	})
}

func TestOneConversationInOrderOthersBeside(t *testing.T) {
	in(t, func(t *testing.T, b *bench) {
		b.carrier.takes = 20 * time.Millisecond
		for i := range 100 {
			b.text(t, fmt.Sprint("owner", i), "say 1,say 2,say 3")
		}
		b.Start(t.Context())
		pass(70 * time.Millisecond)
		require.Len(t, b.carrier.sent, 300, "three in a row, a hundred side by side")
		next := map[string]string{}
		for _, l := range b.carrier.sent {
			want := map[string]string{"": "1", "1": "2", "2": "3"}[next[l.To]]
			require.Equal(t, want, l.Text, l.To)
			next[l.To] = l.Text
		}
	})
}

func TestARetryHoldsItsConversationBackAndNoOther(t *testing.T) {
	in(t, func(t *testing.T, b *bench) {
		b.carrier.answer = func(l conversation.Line, try int) store.Result {
			if l.To == "ann" && try <= 3 {
				return store.Result{Kind: store.Retry, Why: "busy"}
			}
			return store.Result{Kind: store.Sent}
		}
		b.text(t, "ann", "say a1,say a2")
		b.Start(t.Context())
		pass(time.Millisecond)
		b.text(t, "bob", "say b1")
		pass(time.Millisecond)
		require.Equal(t, []string{"b1"}, b.carrier.texts())
		pass(time.Minute)
		require.Equal(t, []string{"b1", "a1", "a2"}, b.carrier.texts())
		tries := b.carrier.tries
		require.Equal(t, 1500*time.Millisecond, tries[2].Sub(tries[0]), "2 s, a random half of it")
		require.Equal(t, 3*time.Second, tries[3].Sub(tries[2]), "then twice that")
	})
}

func TestAPageDoesNotWaitBehindItsOwnersText(t *testing.T) {
	in(t, func(t *testing.T, b *bench) {
		b.carrier.answer = func(l conversation.Line, _ int) store.Result {
			if l.To == "ann" {
				return store.Result{Kind: store.Retry, Why: "no route"}
			}
			return store.Result{Kind: store.Sent}
		}
		b.text(t, "ann", "say where are you")
		b.Start(t.Context())
		pass(10 * time.Minute)
		b.text(t, "ann", "say help is coming,page come quickly")
		pass(time.Millisecond)
		require.Equal(t, []string{"come quickly"}, b.carrier.texts())
		require.Equal(t, []string{"queued", "queued", "sent"}, b.delivery(t, "ann"))
	})
}

func TestACarriersRetryAfterIsHonoured(t *testing.T) {
	in(t, func(t *testing.T, b *bench) {
		b.carrier.answer = func(_ conversation.Line, try int) store.Result {
			if try == 1 {
				return store.Result{Kind: store.Retry, Next: time.Now().Add(time.Hour)}
			}
			return store.Result{Kind: store.Sent}
		}
		b.text(t, "ann", "say hi")
		b.Start(t.Context())
		pass(59 * time.Minute)
		require.Empty(t, b.carrier.texts())
		pass(time.Minute + time.Millisecond)
		require.Equal(t, []string{"hi"}, b.carrier.texts())
	})
}

func TestWhatCannotBeDeliveredBecomesACaseForAPerson(t *testing.T) {
	in(t, func(t *testing.T, b *bench) {
		b.carrier.answer = func(l conversation.Line, _ int) store.Result {
			if l.Text == "bad" {
				return store.Result{Kind: store.Failed, Why: "the gateway answered 400"}
			}
			return store.Result{Kind: store.Sent}
		}
		b.text(t, "ann", "say bad,say good,elsewhere lost")
		b.Start(t.Context())
		pass(time.Second)
		require.Equal(t, []string{"good"}, b.carrier.texts(), "the next one goes")
		require.Equal(t, []string{"dead bad", "dead lost"}, b.notes(t, "ann"))
		require.Equal(t, []string{"failed", "sent", "failed"}, b.delivery(t, "ann"))
	})
}

func TestAttemptsEnd(t *testing.T) {
	in(t, func(t *testing.T, b *bench) {
		b.carrier.answer = func(conversation.Line, int) store.Result { return store.Result{Kind: store.Retry, Why: "busy"} }
		b.text(t, "ann", "say hi")
		b.Start(t.Context())
		pass(24 * time.Hour)
		require.Len(t, b.carrier.tries, 12)
		require.Less(t, b.carrier.tries[11].Sub(b.carrier.tries[0]), 30*time.Minute)
		require.Equal(t, []string{"dead hi"}, b.notes(t, "ann"))
		require.Zero(t, b.counts(t).Outbox)
	})
}

func TestASendThatTakesTooLongIsTriedAgain(t *testing.T) {
	in(t, func(t *testing.T, b *bench) {
		b.carrier.takes = time.Hour
		b.text(t, "ann", "say hi")
		b.Start(t.Context())
		pass(9 * time.Second)
		require.Equal(t, []string{"queued"}, b.delivery(t, "ann"))
		b.carrier.mu.Lock()
		b.carrier.takes = 0
		b.carrier.mu.Unlock()
		pass(5 * time.Second)
		require.Equal(t, []string{"hi"}, b.carrier.texts())
	})
}

func TestAStoreThatFailsForAWhileLosesNothing(t *testing.T) {
	in(t, func(t *testing.T, b *bench) {
		down := errors.New("disk full")
		b.queue.claim = []error{down, down}
		b.queue.settle = []error{down, down, down}
		b.text(t, "ann", "say 1,say 2")
		b.Start(t.Context())
		pass(10 * time.Second)
		require.Equal(t, []string{"1", "2"}, b.carrier.texts(), "settled late, not sent twice")
		require.Equal(t, repeat("sent", 2), b.delivery(t, "ann"))
	})
}

func TestASenderThatPanicsIsTriedAgain(t *testing.T) {
	in(t, func(t *testing.T, b *bench) {
		b.carrier.answer = func(_ conversation.Line, try int) store.Result {
			if try == 1 {
				panic("a flaw")
			}
			return store.Result{Kind: store.Sent}
		}
		b.text(t, "ann", "say hi")
		b.Start(t.Context())
		pass(10 * time.Second)
		require.Equal(t, []string{"hi"}, b.carrier.texts())
	})
}

func TestWhatACrashLeftLeasedGoesOutInOrder(t *testing.T) {
	in(t, func(t *testing.T, b *bench) {
		b.text(t, "ann", "say 1,say 2")
		claimed, err := b.store.ClaimOutbox(t.Context(), time.Now(), 20*time.Second, 10) // and then it died
		require.NoError(t, err)
		require.Len(t, claimed, 1)
		b.Start(t.Context())
		pass(19 * time.Second)
		require.Empty(t, b.carrier.texts())
		pass(2 * time.Second)
		require.Equal(t, []string{"1", "2"}, b.carrier.texts())
	})
}
