package sms

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// The clock is set back by hours, as when a wrong one is put right: what was noted by it
// holds nobody up for longer than it would have.
const setBack = 3 * time.Hour

func TestPaceGoesOnWhenTheClockIsSetBack(t *testing.T) {
	p := newPace()
	for range burst {
		require.Zero(t, p.wait("loud", midnight))
	}
	require.Zero(t, p.wait("calm", midnight))
	back := midnight.Add(-setBack)
	require.Zero(t, p.wait("calm", back), "not three hours")
	for range burst {
		require.Zero(t, p.wait("loud", back), "its bucket is a new one")
	}
	require.Equal(t, refill, p.wait("loud", back), "of the old size")
	require.Positive(t, p.wait("loud", back.Add(-jitter/2)), "calls side by side are no clock that was set")
}

func TestThrottleGoesOnWhenTheClockIsSetBack(t *testing.T) {
	th := newThrottle(10)
	require.Zero(t, th.turn("1", midnight))
	require.Equal(t, midnight.Add(100*time.Millisecond), th.turn("2", midnight))
	th.hold(midnight.Add(time.Hour), midnight)
	back := midnight.Add(-setBack)
	require.Equal(t, back.Add(longestHold), th.turn("3", back), "what the gateway asked for is kept, by the clock as it is now")
	after := back.Add(longestHold)
	require.Zero(t, th.turn("2", after), "its place has come")
	require.Zero(t, th.turn("3", after))
	require.Equal(t, after.Add(100*time.Millisecond), th.turn("4", after))
}
