package intake

import (
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

const (
	burst  = 40
	refill = time.Second
	most   = 50_000
)

var midnight = time.Date(2026, 6, 13, 0, 0, 0, 0, time.UTC)

func TestPaceForgetsSendersThatAreQuiet(t *testing.T) {
	p := NewPace(burst, refill, most)
	for i := range most {
		require.Zero(t, p.Wait(strconv.Itoa(i), midnight))
	}
	require.Zero(t, p.Wait("one more", midnight.Add(time.Second)))
	require.Len(t, p.full, 1, "all the others' buckets were full again")
}

func TestPaceTakesBoundedRoomInAFloodFromEverNewSenders(t *testing.T) {
	p := NewPace(burst, refill, most)
	for i := range 2*most + 5 {
		require.Zero(t, p.Wait(strconv.Itoa(i), midnight))
		require.LessOrEqual(t, len(p.full), most)
	}
}

func TestPaceOfOneSenderIsNotUndoneByOthers(t *testing.T) {
	p := NewPace(burst, refill, most)
	for range burst {
		require.Zero(t, p.Wait("loud", midnight))
	}
	for i := range most - 1 {
		require.Zero(t, p.Wait(strconv.Itoa(i), midnight))
	}
	require.Zero(t, p.Wait("new", midnight.Add(time.Second+1)))
	require.Zero(t, p.Wait("loud", midnight.Add(time.Second+1)), "one second makes room for one")
	require.Positive(t, p.Wait("loud", midnight.Add(time.Second+1)))
}

// The clock is set back by hours, as when a wrong one is put right: what was noted by it
// holds nobody up for longer than it would have.
func TestPaceGoesOnWhenTheClockIsSetBack(t *testing.T) {
	for _, c := range []struct {
		burst  int
		refill time.Duration
	}{{burst, refill}, {3, time.Minute}} {
		p := NewPace(c.burst, c.refill, most)
		for range c.burst {
			require.Zero(t, p.Wait("loud", midnight))
		}
		require.Zero(t, p.Wait("calm", midnight))
		back := midnight.Add(-3 * time.Hour)
		require.Zero(t, p.Wait("calm", back), "not three hours")
		for range c.burst {
			require.Zero(t, p.Wait("loud", back), "its bucket is a new one")
		}
		require.Equal(t, c.refill, p.Wait("loud", back), "of the old size")
		require.Positive(t, p.Wait("loud", back.Add(-time.Second/2)), "calls side by side are no clock that was set")
	}
}
