package main

import (
	"bufio"
	"context"
	"io"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/clock"
	"tubhand/internal/store/sqlite"
	"tubhand/internal/turn"
)

// wrongClock is off by so much, and is set while the server runs, forward and back.
type wrongClock struct{ by atomic.Int64 }

// Now implements clock.Clock.
func (w *wrongClock) Now() time.Time { return time.Now().Round(0).Add(time.Duration(w.by.Load())) }

// Wait implements clock.Clock. It looks at the time again soon, so that the test need not
// wait the minute after which the machine's clock would.
func (w *wrongClock) Wait(ctx context.Context, at time.Time, wake <-chan struct{}) error {
	if soon := w.Now().Add(50 * time.Millisecond); !at.IsZero() && at.After(soon) {
		at = soon
	}
	if !at.IsZero() {
		at = at.Add(-time.Duration(w.by.Load()))
	}
	return clock.System().Wait(ctx, at, wake)
}

// TestClockThatIsSetUnderLoad sets the server's clock twelve times by up to half a day
// either way while owners are led through a service, and then right.
func TestClockThatIsSetUnderLoad(t *testing.T) {
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	chance := rand.New(rand.NewPCG(seed, 1))
	far := newReceiver(t, seed)
	data, wrong := t.TempDir(), &wrongClock{}
	p, end := serveBy(t, wrong, "--shop", shopFile(t, far.url), "--data", data, "--listen", "127.0.0.1:0")
	owners := newCrowd(t, p, 8, seed)
	for range 12 {
		owners.more(20)
		wrong.by.Store(int64(time.Duration(chance.IntN(24*60)-12*60) * time.Minute))
	}
	wrong.by.Store(0)
	owners.finish()
	wrong.by.Store(int64(48 * time.Hour)) // all that was put off by the wrong clock comes
	p.settle()
	end()

	s, err := sqlite.Open(filepath.Join(data, "tubhand.db"), sqlite.Options{})
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	v := verdict{t: t, view: s.View(t.Context(), "fernhollow")}
	v.everyTextOnce(owners)
	v.everyMessageInOrder(far.got)
	v.everyReminderOnce()
	t.Logf("a clock set 14 times by up to 12 h either way: %d texts acknowledged, %d sent again, %d messages taken by the gateway: none lost, none doubled, in order",
		owners.acknowledged.Load(), owners.repeated.Load(), len(far.got))
}

// serveBy runs the server within the test by a clock, with a witness of its reminders.
func serveBy(t *testing.T, c clock.Clock, args ...string) (p *prey, end func()) {
	t.Helper()
	out, in := io.Pipe()
	s := streams{strings.NewReader(""), in, io.Discard, func(string) string { return "" }}
	o, code := parseServe(args, s)
	require.Equal(t, -1, code)
	o.clock = c
	o.around = func(d turn.Decider) turn.Decider { return witness{d} }
	ctx, stop := context.WithCancel(t.Context())
	done := make(chan int, 1)
	go func() {
		done <- serveShops(ctx, o, s)
		in.Close()
	}()
	said, err := bufio.NewReader(out).ReadString('\n')
	require.NoError(t, err)
	at, _ := strings.CutPrefix(strings.TrimSpace(said), "listening on ")
	p = &prey{t: t}
	p.url.Store(&at)
	go func() { _, _ = io.Copy(io.Discard, out) }()
	return p, func() {
		stop()
		require.Zero(t, <-done)
	}
}
