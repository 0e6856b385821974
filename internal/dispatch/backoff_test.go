package dispatch

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

func TestBackoff(t *testing.T) {
	for attempt, want := range map[int]time.Duration{
		0: 2 * time.Second, 1: 2 * time.Second, 2: 4 * time.Second, 3: 8 * time.Second,
		8: 256 * time.Second, 9: 5 * time.Minute, 12: 5 * time.Minute, 64: 5 * time.Minute, 1 << 40: 5 * time.Minute,
	} {
		require.Equal(t, want/2, backoff(attempt, 0), attempt)
		require.InDelta(t, want, backoff(attempt, 0.999999), float64(time.Millisecond), attempt)
	}
}
