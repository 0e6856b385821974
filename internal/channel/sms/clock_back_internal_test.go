package sms

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// The clock is set back by hours, as when a wrong one is put right: what was noted by it
// holds nobody up for longer than it would have.
const setBack = 3 * time.Hour

var midnight = time.Date(2026, 6, 13, 0, 0, 0, 0, time.UTC)

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
