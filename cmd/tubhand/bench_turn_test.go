package main

import (
	"bytes"
	"context"
	"io"
	"net/http"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/clock"
)

// BenchmarkTurn gives the processor time and the allocations of a text, without the
// network and without whoever sends it: the whole turn, and the bare one beside it.
func BenchmarkTurn(b *testing.B) {
	m := &measurement{benchOptions: benchOptions{store: "sqlite", data: b.TempDir(), connections: 64}, clock: clock.System()}
	r, err := m.rig(b.Context(), m.clock)
	require.NoError(b, err)
	b.Cleanup(func() { require.NoError(b, r.close()) })
	sample, err := m.sample(b.Context(), r)
	require.NoError(b, err)
	bare, err := r.bare(b.Context(), sample)
	require.NoError(b, err)
	r.end = append(r.end, bare.Close)
	b.Run("whole", func(b *testing.B) { m.inProcess(b, r, r.router) })
	plain := plainest(bare)
	b.Run("bare", func(b *testing.B) { m.inProcess(b, r, plain) })
}

// inProcess hands b.N texts to a handler, from as many goroutines as there are connections.
func (m *measurement) inProcess(b *testing.B, r *rig, h http.Handler) {
	load := m.load(r, r.address)
	var n, refused atomic.Int64
	var all sync.WaitGroup
	b.ReportAllocs()
	before := processorTime(b)
	b.ResetTimer()
	for w := range m.connections {
		all.Go(func() {
			for n.Add(1) <= int64(b.N) {
				req, err := http.NewRequestWithContext(context.Background(), http.MethodPost, load.Path, bytes.NewReader([]byte(load.Next(w))))
				if err != nil {
					b.Error(err)
					return
				}
				req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
				to := answer{header: http.Header{}}
				h.ServeHTTP(&to, req)
				if to.status != http.StatusNoContent {
					refused.Add(1)
				}
			}
		})
	}
	all.Wait()
	b.StopTimer()
	b.ReportMetric(float64((processorTime(b)-before).Nanoseconds())/1000/float64(b.N), "cpu-us/turn")
	require.Zero(b, refused.Load())
}

// answer keeps the status of an answer.
type answer struct {
	header http.Header
	status int
}

func (a *answer) Header() http.Header         { return a.header }
func (a *answer) WriteHeader(status int)      { a.status = status }
func (a *answer) Write(b []byte) (int, error) { return io.Discard.Write(b) }

// processorTime is what the process has used: it tells little of what else the machine does.
func processorTime(b *testing.B) time.Duration {
	b.Helper()
	var u syscall.Rusage
	require.NoError(b, syscall.Getrusage(syscall.RUSAGE_SELF, &u))
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
