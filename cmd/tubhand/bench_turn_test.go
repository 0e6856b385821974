package main

import (
	"bytes"
	"context"
	"io"
	"net/http"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/bench"
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
	before := bench.Processor()
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
	b.ReportMetric(float64((bench.Processor()-before).Nanoseconds())/1000/float64(b.N), "cpu-us/turn")
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

// BenchmarkDue gives the processor time of reminders that are due together, with the
// sending of what they say, and the texts that come in meanwhile.
func BenchmarkDue(b *testing.B) {
	for range b.N {
		m := &measurement{benchOptions: benchOptions{store: "sqlite", data: b.TempDir(), connections: 64, due: 20_000}, clock: clock.System()}
		var r benchReport
		require.NoError(b, m.work(b.Context(), &r))
		b.ReportMetric(r.Due.CPU, "cpu-us/reminder")
		b.ReportMetric(r.Due.Seconds, "s")
		b.ReportMetric(r.Due.Texts.P99, "text-p99-ms")
	}
}
