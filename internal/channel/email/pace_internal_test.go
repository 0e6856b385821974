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
	require.Equal(t, time.Minute, p.wait("dana", back), "not three hours")
	require.Zero(t, p.wait("dana", back.Add(time.Minute)))
	require.Equal(t, time.Minute, p.wait("dana", back.Add(time.Minute)), "and no more room than before")
}
