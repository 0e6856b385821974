package bench_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/bench"
	"tubhand/internal/clock"
)

func against(t *testing.T, h http.HandlerFunc) bench.Load {
	t.Helper()
	s := httptest.NewServer(h)
	t.Cleanup(s.Close)
	return bench.Load{Address: strings.TrimPrefix(s.URL, "http://"), Path: "/in", Connections: 4, Clock: clock.System(),
		Next: func(connection int) string { return fmt.Sprintf("from=%d", connection) }}
}

func TestClosedKeepsEachConnectionBusy(t *testing.T) {
	var mu sync.Mutex
	from := map[string]int{}
	l := against(t, func(w http.ResponseWriter, r *http.Request) {
		mu.Lock()
		defer mu.Unlock()
		from[r.Method+r.URL.Path+r.PostFormValue("from")]++
		w.WriteHeader(204)
	})
	run, err := l.Closed(t.Context(), 100*time.Millisecond)
	require.NoError(t, err)
	require.Len(t, from, 4)
	total := 0
	for who, n := range from {
		require.Contains(t, who, "POST/in")
		require.Positive(t, n)
		total += n
	}
	require.Equal(t, total, run.Requests)
	require.Zero(t, run.Refused)
	require.InDelta(t, float64(total)/run.Seconds, run.PerSecond, 0.2*run.PerSecond)
	require.LessOrEqual(t, run.P50, run.P99)
	require.LessOrEqual(t, run.P99, run.Max)
}

// TestOpenTellsOfAStall: one answer takes 300 ms, and all texts that should have gone out
// over that connection meanwhile have waited too.
func TestOpenTellsOfAStall(t *testing.T) {
	var n atomic.Int64
	l := against(t, func(w http.ResponseWriter, _ *http.Request) {
		if n.Add(1) == 10 {
			<-time.After(300 * time.Millisecond)
		}
		http.Error(w, "full", http.StatusServiceUnavailable)
	})
	l.Connections = 1
	run, err := l.Open(t.Context(), 200, time.Second)
	require.NoError(t, err)
	require.Equal(t, 200, run.Requests)
	require.Equal(t, 200, run.Refused)
	require.GreaterOrEqual(t, run.Max, 300.0)
	require.GreaterOrEqual(t, run.P99, 200.0, "about sixty waited, not one")
}

func TestAServerThatIsNotThere(t *testing.T) {
	l := against(t, func(http.ResponseWriter, *http.Request) {})
	l.Address = "127.0.0.1:1"
	_, err := l.Closed(t.Context(), time.Second)
	require.ErrorContains(t, err, "127.0.0.1:1")
}

func TestAnAnswerThatIsNone(t *testing.T) {
	l := against(t, func(w http.ResponseWriter, _ *http.Request) {
		conn, _, err := w.(http.Hijacker).Hijack()
		if err == nil {
			_, _ = conn.Write([]byte("good morning\r\n\r\n"))
			conn.Close()
		}
	})
	_, err := l.Closed(t.Context(), time.Second)
	require.ErrorContains(t, err, "good morning")
}
