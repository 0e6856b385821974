package dispatch_test

import (
	"context"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/dispatch"
	"tubhand/internal/store"
	"tubhand/internal/store/memory"
)

// TestAGatewayThatAcceptsAndDoesNotAnswer takes messages and lets the answer get lost: the
// message goes again with the same key, nothing of its queue overtakes it, and the
// transcript says that it was sent, once.
func TestAGatewayThatAcceptsAndDoesNotAnswer(t *testing.T) {
	const owners, each = 20, 6
	got := map[string][]string{} // keys, by recipient
	repeats := 0
	in(t, func(t *testing.T, b *bench) {
		mood := rand.New(rand.NewPCG(1, 2))
		b.carrier.answer = func(l conversation.Line, _ int) store.Result {
			got[l.To] = append(got[l.To], l.ID)
			if mood.IntN(3) == 0 {
				return store.Result{Kind: store.Retry, Why: "no answer within 10 s"}
			}
			return store.Result{Kind: store.Sent}
		}
		for i := range owners {
			b.text(t, fmt.Sprint("owner", i), strings.Repeat("say hi,", each-1)+"say bye")
		}
		b.Start(t.Context())
		pass(time.Hour)
		require.Zero(t, b.counts(t).Outbox)
		for who, keys := range got {
			var once []string
			for _, key := range keys {
				if n := len(once); n > 0 && once[n-1] == key {
					repeats++ // only the last one may come again
					continue
				}
				once = append(once, key)
			}
			require.Equal(t, decided(b.lines(t, who)), once, who)
			require.Equal(t, repeat("sent", each), b.delivery(t, who))
		}
	})
	require.Greater(t, repeats, 10)
	t.Logf("%d messages to a gateway that loses one answer in three: %d came again under the same key, none out of order, each sent once in the transcript",
		owners*each, repeats)
}

// TestAReportIsFasterThanTheAnswer: the gateway takes a message and reports on it while
// the attempt still waits for its answer, which never comes. What is known to have
// arrived does not go again; what is known to have failed is a person's, once.
func TestAReportIsFasterThanTheAnswer(t *testing.T) {
	for _, state := range []string{"sent", "delivered", "failed"} {
		in(t, func(t *testing.T, b *bench) {
			reports := dispatch.Reports{Ledger: b.store, Turns: b.turns}
			b.carrier.takes = time.Hour // its answer is lost
			b.Start(t.Context())
			b.text(t, "ann", "say 1,say 2")
			pass(time.Second)
			for range 3 { // and it repeats itself
				require.NoError(t, reports.Delivered(t.Context(), "fern", "ann.1", state))
			}
			b.carrier.mu.Lock()
			b.carrier.takes = 0
			b.carrier.mu.Unlock()
			pass(time.Hour)
			require.Equal(t, []string{"2"}, b.carrier.texts(), "the first was taken long ago")
			require.Equal(t, []string{state, "sent"}, b.delivery(t, "ann"))
			want := []string(nil)
			if state == "failed" {
				want = []string{"dead 1"}
			}
			require.Equal(t, want, b.notes(t, "ann"))
			t.Logf("reported %s before its answer: not sent again, the next one followed, %d case(s) for a person", state, len(want))
		})
	}
}

// TestReportsAndTextsInAnyOrder shuffles and repeats what a gateway calls back with, side
// by side: each text is one turn, and a delivery state only goes forward.
func TestReportsAndTextsInAnyOrder(t *testing.T) {
	const texts = 12
	in(t, func(t *testing.T, b *bench) {
		reports := dispatch.Reports{Ledger: b.store, Turns: b.turns}
		b.Start(t.Context())
		b.text(t, "ann", "say a,say b,say c,say d")
		pass(time.Second)
		var calls []func() error
		for i := range texts {
			ev := conversation.Event{ID: fmt.Sprint("text", i), Kind: conversation.TextIn, From: "ann", Gateway: "plain", Text: fmt.Sprint("say answer ", i)}
			for range 3 {
				calls = append(calls, func() error { return b.turns.Handle(t.Context(), "fern", ev) })
			}
		}
		for line, states := range map[string][]string{"ann.1": {"sent", "delivered"}, "ann.2": {"delivered", "failed", "sent"}, "ann.3": {"failed", "sent"}} {
			for _, state := range append(states, states...) {
				calls = append(calls, func() error { return reports.Delivered(t.Context(), "fern", line, state) })
			}
		}
		rand.Shuffle(len(calls), func(i, j int) { calls[i], calls[j] = calls[j], calls[i] })
		var all sync.WaitGroup
		for _, call := range calls {
			all.Go(func() {
				if err := call(); err != nil {
					t.Error(err)
				}
			})
		}
		all.Wait()
		pass(time.Minute)
		states := b.delivery(t, "ann")
		require.Equal(t, "delivered", states[0])
		require.Contains(t, []string{"delivered", "failed"}, states[1], "whichever came first stays")
		require.Equal(t, []string{"failed", "sent"}, states[2:4])
		require.Len(t, states, 4+texts, "one answer to each text")
		require.Equal(t, repeat("sent", texts), states[4:])
		require.Equal(t, decided(b.lines(t, "ann")), carried(b, "ann"))
		dead := b.notes(t, "ann")
		require.Contains(t, dead, "dead c")
		require.LessOrEqual(t, len(dead), 2, "one case for each that failed")
		t.Logf("%d callbacks, each text three times and each report twice, in any order side by side: %d turns, states only forward", len(calls), texts)
	})
}

// hasty gives everything out again at once, as when leases run out under two nodes that
// are too slow or whose clocks disagree.
type hasty struct{ store.Store }

func (h hasty) ClaimDue(ctx context.Context, now time.Time, _ time.Duration, n int) ([]store.Due, error) {
	return h.Store.ClaimDue(ctx, now, 0, n)
}

// TestTwoNodesHandleTheSameReminders has two dispatchers on one store who both get every
// reminder: each is one turn and one message.
func TestTwoNodesHandleTheSameReminders(t *testing.T) {
	const owners, each = 20, 3
	synctest.Test(t, func(t *testing.T) {
		s := memory.New()
		first, second := setupOn(t, clock.System(), s, script{}), setupOn(t, clock.System(), s, script{})
		reminders := 0
		for _, b := range []*bench{first, second} {
			b.Dispatcher = dispatch.New(dispatch.Config{Queue: hasty{s}, Turns: b.turns, Clock: clock.System(), Log: slog.New(slog.DiscardHandler),
				Random: func() float64 { return 0.5 }, Look: time.Second,
				Sender: func(_, _ string) (dispatch.Sender, bool) { return first.carrier, true }})
			defer b.Stop()
		}
		for i := range owners {
			first.text(t, fmt.Sprint("owner", i), "remind 1s,remind 2s,remind 3s")
			reminders += each
		}
		first.Start(t.Context())
		second.Start(t.Context())
		pass(time.Minute)
		for i := range owners {
			who := fmt.Sprint("owner", i)
			require.Equal(t, []string{"due 1s", "due 2s", "due 3s"}, first.notes(t, who), who)
			require.Equal(t, decided(first.lines(t, who)), carried(first, who), who)
		}
		require.Zero(t, first.counts(t).Reminders)
		t.Logf("%d reminders given to two nodes again and again: %d turns, one message each, in order", reminders, first.counts(t).Turns-owners)
	})
}
