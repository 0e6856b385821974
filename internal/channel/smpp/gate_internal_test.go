package smpp

import (
	"context"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/clock"
)

// passed is how many pass a gate in a while when many want to and each wakes a little late.
func passed(perSecond float64, late, span time.Duration) int {
	g := newGate(clock.System(), perSecond)
	ctx, done := context.WithTimeout(context.Background(), span)
	defer done()
	n := 0
	for g.pass(ctx) == nil {
		n++
		<-time.After(late)
	}
	return n
}

func TestTheGateKeepsItsRate(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		require.InDelta(t, 20, passed(2, 0, 10*time.Second), 1)
		require.InDelta(t, 20, passed(2, 100*time.Millisecond, 10*time.Second), 1)
		require.InDelta(t, 5000, passed(500, 0, 10*time.Second), 11, "no more than asked for, but for the slack at once")
		require.InDelta(t, 5000, passed(500, 1500*time.Microsecond, 10*time.Second), 11, "nor less for late timers")
	})
}

func TestPausesDoubleOnceForEach(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		g := newGate(clock.System(), 10)
		for _, want := range []time.Duration{1, 2, 4, 8, 16, 30, 30} {
			g.throttled()
			g.throttled() // by another of the same window
			require.Equal(t, want*time.Second, time.Until(g.paused()))
			require.NoError(t, g.pass(t.Context()))
			require.Zero(t, g.paused())
		}
		g.taken()
		g.throttled()
		require.Equal(t, time.Second, time.Until(g.paused()))
	})
}

// setClock is a clock that a test sets.
type setClock struct {
	clock.Clock
	now time.Time
}

func (c *setClock) Now() time.Time { return c.now }

func TestGateGoesOnWhenTheClockIsSetBack(t *testing.T) {
	c := &setClock{now: time.Date(2026, 6, 13, 12, 0, 0, 0, time.UTC)}
	g := newGate(c, 10)
	_, free := g.place()
	require.True(t, free)
	g.throttled()
	c.now = c.now.Add(-3 * time.Hour)
	require.LessOrEqual(t, g.paused().Sub(c.now), longestPause)
	c.now = c.now.Add(longestPause)
	require.Zero(t, g.paused())
	_, free = g.place()
	require.True(t, free, "not for three hours")
}
