package dispatch_test

import (
	"log/slog"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/clock"
	"tubhand/internal/dispatch"
	"tubhand/internal/store/memory"
)

// TestAQueueThatOthersFillIsLookedAtAgain has a turn committed by somebody who pokes
// nobody here, and then dies.
func TestAQueueThatOthersFillIsLookedAtAgain(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := setupOn(t, clock.System(), memory.New(), script{})
		defer b.Stop() // it never starts: it is the one that dies
		other := dispatch.New(dispatch.Config{Queue: b.store, Turns: b.turns, Clock: clock.System(), Log: slog.New(slog.DiscardHandler),
			Random: func() float64 { return 0.5 }, Look: time.Second,
			Sender: func(_, _ string) (dispatch.Sender, bool) { return b.carrier, true }})
		other.Start(t.Context())
		defer other.Stop()
		pass(time.Hour)
		b.text(t, "ann", "say hi,remind 10s")
		pass(1100 * time.Millisecond)
		require.Equal(t, []string{"hi"}, b.carrier.texts())
		pass(10 * time.Second)
		require.Equal(t, []string{"due 10s"}, b.notes(t, "ann"))
	})
}
