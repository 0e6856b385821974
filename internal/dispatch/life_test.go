package dispatch_test

import (
	"context"
	"errors"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/clock"
)

func TestStopBeforeStart(t *testing.T) {
	in(t, func(t *testing.T, b *bench) {
		b.Stop()
		b.Stop()
		b.Start(t.Context())
		b.text(t, "ann", "say hi")
		pass(time.Hour)
		require.Empty(t, b.carrier.texts())
		select {
		case <-b.Started():
			t.Fatal("started after a stop")
		default:
		}
	})
}

func TestStopLetsWhatIsInHandEnd(t *testing.T) {
	in(t, func(t *testing.T, b *bench) {
		b.carrier.takes = time.Second
		b.text(t, "ann", "say 1,say 2")
		b.Start(t.Context())
		<-b.Started()
		pass(time.Millisecond)
		b.Stop()
		require.Equal(t, []string{"1"}, b.carrier.texts())
		require.Equal(t, []string{"sent", "queued"}, b.delivery(t, "ann"), "settled, and nothing new begun")
		b.Stop()
		pass(time.Hour)
		require.Len(t, b.carrier.texts(), 1)
	})
}

func TestTheEndOfTheContextCutsShort(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := setup(t, clock.System())
		ctx, cut := context.WithCancel(t.Context())
		b.carrier.takes = 9 * time.Second
		b.text(t, "ann", "say 1")
		b.Start(ctx)
		pass(time.Second)
		began := time.Now()
		cut()
		b.Stop()
		require.Zero(t, time.Since(began))
		require.Equal(t, []string{"queued"}, b.delivery(t, "ann"), "it will be tried again")
	})
}

func TestStopDoesNotWaitForeverForAStoreThatIsDown(t *testing.T) {
	in(t, func(t *testing.T, b *bench) {
		for range 50 {
			b.queue.settle = append(b.queue.settle, errors.New("disk full"))
		}
		b.text(t, "ann", "say 1")
		b.Start(t.Context())
		pass(time.Second)
		b.Stop()
		require.Equal(t, []string{"queued"}, b.delivery(t, "ann"), "at least once: it goes out again after its lease")
	})
}

func TestStartAndStopFromEverywhere(t *testing.T) {
	for range 20 {
		b := setup(t, clock.System())
		for range 5 {
			b.text(t, "ann", "say hi,remind 1ms")
		}
		var all sync.WaitGroup
		for i := range 10 {
			all.Go(func() {
				if i%2 == 0 {
					b.Start(t.Context())
				} else {
					b.Stop()
				}
			})
		}
		all.Wait()
		b.Stop()
	}
}
