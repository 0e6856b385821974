package email

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

func TestPaceGoesOnWhenTheClockIsSetBack(t *testing.T) {
	p, noon := newPace(3, time.Minute), time.Date(2026, 6, 13, 12, 0, 0, 0, time.UTC)
	for range 3 {
		require.Zero(t, p.wait("dana", noon))
	}
	back := noon.Add(-3 * time.Hour)
	for range 3 {
		require.Zero(t, p.wait("dana", back), "its bucket is a new one, not full for three hours")
	}
	require.Equal(t, time.Minute, p.wait("dana", back), "of the old size")
	require.Positive(t, p.wait("dana", back.Add(-time.Second)), "calls side by side are no clock that was set")
}
