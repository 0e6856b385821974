package conversation_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// TestANudgeThatComesLateKeepsToTheHours: the server was away when it was due and is back
// at night, or the clock was wrong. It comes in the morning, once; where the tub is at a
// moment that can't wait, at once.
func TestANudgeThatComesLateKeepsToTheHours(t *testing.T) {
	k := newWalk(world(t))
	k.text("flush my pipes")
	require.Len(t, k.pending, 1)
	night := time.Date(2026, 6, 14, 10, 0, 0, 0, time.UTC) // 3 am in Los Angeles
	k.now = night
	require.True(t, k.fire())
	require.Empty(t, k.out, "nobody is woken")
	require.Len(t, k.pending, 1, "and it is not lost")
	require.True(t, k.fire())
	require.Equal(t, 5*time.Hour, k.now.Sub(night), "at eight")
	require.NotEmpty(t, k.out)

	k = atBlowOut(t)
	k.now = night
	require.True(t, k.fire())
	require.NotEmpty(t, k.out, "the power is on over low water")
}
