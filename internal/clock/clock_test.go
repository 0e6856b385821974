package clock_test

import (
	"context"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/clock"
)

var noon = time.Date(2026, 6, 13, 12, 0, 0, 0, time.UTC)

// ring waits as a caller would, looking again after each return, and tells when it ended.
func ring(c clock.Clock, at time.Time) <-chan time.Time {
	done := make(chan time.Time, 1)
	go func() {
		for c.Now().Before(at) {
			if c.Wait(context.Background(), at, nil) != nil {
				return
			}
		}
		done <- c.Now()
	}()
	return done
}

func TestSystemWaitsUntilTheTime(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		c := clock.System()
		at := c.Now().Add(3 * time.Hour)
		require.Equal(t, at, <-ring(c, at))
	})
}

func TestWaitEnds(t *testing.T) {
	clocks := map[string]func() clock.Clock{
		"system":  clock.System,
		"jumping": func() clock.Clock { return clock.NewJumping(noon) },
		"still":   func() clock.Clock { return clock.NewStill(noon) },
	}
	for name, makeClock := range clocks {
		t.Run(name, func(t *testing.T) {
			c := makeClock()
			ended, end := context.WithCancel(context.Background())
			end()
			require.ErrorIs(t, c.Wait(ended, time.Time{}, nil), context.Canceled, "by the context")
			require.ErrorIs(t, c.Wait(ended, c.Now().Add(-1), nil), context.Canceled, "the context comes first")

			wake := make(chan struct{}, 1)
			wake <- struct{}{}
			require.NoError(t, c.Wait(context.Background(), time.Time{}, wake), "by a wake-up")
			wake <- struct{}{}
			require.NoError(t, c.Wait(context.Background(), c.Now().Add(time.Hour), wake), "by a wake-up before the time")
			require.NoError(t, c.Wait(context.Background(), c.Now(), nil), "by a time that has come")
		})
	}
}

func TestJumpingRunsWithRealTime(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		c := clock.NewJumping(noon)
		require.Equal(t, noon.Add(40*time.Minute), <-ring(c, noon.Add(40*time.Minute)))
	})
}

func TestAJumpWakesWhoeverWaits(t *testing.T) {
	for name, c := range map[string]*clock.Jumping{"jumping": clock.NewJumping(noon), "still": clock.NewStill(noon)} {
		t.Run(name, func(t *testing.T) {
			first, second := ring(c, noon.Add(time.Hour)), ring(c, noon.Add(30*24*time.Hour))
			c.Jump(30 * time.Minute)
			c.JumpTo(noon.Add(time.Hour))
			require.WithinDuration(t, noon.Add(time.Hour), <-first, time.Minute)
			c.JumpTo(noon.Add(30 * 24 * time.Hour))
			require.WithinDuration(t, noon.Add(30*24*time.Hour), <-second, time.Minute)
		})
	}
}

func TestAJumpNeverGoesBack(t *testing.T) {
	c := clock.NewStill(noon)
	c.Jump(-time.Hour)
	c.JumpTo(noon.Add(-time.Second))
	require.Equal(t, noon, c.Now())
	c.Jump(time.Hour)
	require.Equal(t, noon.Add(time.Hour), c.Now())
}

func TestAStillClockStandsStill(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		c := clock.NewStill(noon)
		done := ring(c, noon.Add(time.Second))
		<-time.After(time.Hour) // on the bubble's clock: this takes no time
		synctest.Wait()
		require.Empty(t, done)
		c.Jump(time.Second)
		require.Equal(t, noon.Add(time.Second), <-done)
	})
}
