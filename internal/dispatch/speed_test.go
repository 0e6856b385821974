package dispatch_test

import (
	"context"
	"fmt"
	"path/filepath"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/sqlite"
)

// onDisk is a bench whose store is SQLite in a temporary folder.
func onDisk(b *testing.B, c clock.Clock) *bench {
	b.Helper()
	s, err := sqlite.Open(filepath.Join(b.TempDir(), "store.db"), sqlite.Options{})
	require.NoError(b, err)
	return setupOn(b, c, s, script{})
}

// fill hands in one text for each of n owners.
func (b *bench) fill(t testing.TB, n int, text string) {
	var all sync.WaitGroup
	for w := range 256 {
		all.Go(func() {
			for i := w; i < n; i += 256 {
				err := b.turns.Handle(context.Background(), "fern", conversation.Event{ID: fmt.Sprint("fill:", i),
					Kind: conversation.TextIn, From: fmt.Sprint("owner", i), Text: text})
				if err != nil {
					t.Error(err)
				}
			}
		})
	}
	all.Wait()
}

// until waits for the store to show that all is done.
func (b *bench) until(t testing.TB, done func(store.Counts) bool) time.Duration {
	began := time.Now()
	tick := time.NewTicker(5 * time.Millisecond)
	defer tick.Stop()
	for !done(b.counts(t)) {
		<-tick.C
	}
	return time.Since(began)
}

// busy is the processor time that the process has used: unlike the wall clock it tells
// little of what else the machine does.
func busy(t testing.TB) time.Duration {
	var u syscall.Rusage
	require.NoError(t, syscall.Getrusage(syscall.RUSAGE_SELF, &u))
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// BenchmarkDrain sends what has gathered through a gateway that takes 20 ms.
func BenchmarkDrain(b *testing.B) {
	const owners, each = 5000, 2
	for range b.N {
		x := onDisk(b, clock.System())
		x.carrier.takes = 20 * time.Millisecond
		x.fill(b, owners, "say 1,say 2")
		before := busy(b)
		x.Start(b.Context())
		took := x.until(b, func(n store.Counts) bool { return n.Outbox == 0 })
		b.ReportMetric(float64((busy(b)-before).Microseconds())/(owners*each), "cpu-us/message")
		b.ReportMetric(owners*each/took.Seconds(), "messages/s")
		require.Len(b, x.carrier.sent, owners*each)
		x.Stop()
	}
}

// BenchmarkDue fires 20,000 reminders that are due at one moment.
func BenchmarkDue(b *testing.B) {
	const owners = 20_000
	for range b.N {
		c := clock.NewJumping(noon)
		x := onDisk(b, c)
		x.fill(b, owners, "remind 1h")
		before := busy(b)
		x.Start(b.Context())
		c.Jump(time.Hour)
		took := x.until(b, func(n store.Counts) bool { return n.Reminders == 0 })
		sent := x.until(b, func(n store.Counts) bool { return n.Outbox == 0 })
		b.ReportMetric(float64((busy(b)-before).Microseconds())/owners, "cpu-us/reminder")
		b.ReportMetric(took.Seconds(), "s/fired")
		b.ReportMetric((took + sent).Seconds(), "s/sent")
		x.Stop()
	}
}
