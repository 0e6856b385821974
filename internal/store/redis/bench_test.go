package redis

import (
	"fmt"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/store/redis/redistest"
	"tubhand/internal/store/storetest"
)

func openServer(b *testing.B) *Store {
	b.Helper()
	s, err := Open(b.Context(), redistest.Start(b).URL(), Options{Level: LevelAlways})
	require.NoError(b, err)
	b.Cleanup(func() { require.NoError(b, s.Close()) })
	return s
}

// report tells what a turn cost: the server's processor time and this process's, which
// unlike the rate tell little of what else the machine does.
func report(b *testing.B, s *Store, work func()) {
	own, server := busy(b), serverBusy(b, s)
	work()
	b.ReportMetric(float64((busy(b)-own).Microseconds())/float64(b.N), "own-us/turn")
	b.ReportMetric((serverBusy(b, s)-server)*1e6/float64(b.N), "server-us/turn")
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "turns/s")
}

func busy(b *testing.B) time.Duration {
	var u syscall.Rusage
	require.NoError(b, syscall.Getrusage(syscall.RUSAGE_SELF, &u))
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// serverBusy is the server's processor time in seconds.
func serverBusy(b *testing.B, s *Store) (sum float64) {
	info, err := s.link.client.Info(b.Context(), "cpu").Result()
	require.NoError(b, err)
	for line := range strings.Lines(info) {
		name, value, _ := strings.Cut(strings.TrimSpace(line), ":")
		if name == "used_cpu_sys" || name == "used_cpu_user" {
			seconds, err := strconv.ParseFloat(value, 64)
			require.NoError(b, err)
			sum += seconds
		}
	}
	return sum
}

func BenchmarkTurns(b *testing.B) {
	s := openServer(b)
	report(b, s, func() { storetest.BenchTurns(b, s) })
}

// bareLua writes what a turn writes in the plainest way: nothing is looked up, checked,
// counted, ordered or told.
const bareLua = `
redis.call('SET', KEYS[1], '1', 'PX', 288000000)
redis.call('HSET', KEYS[2], 'state', ARGV[1], 'version', ARGV[2])
redis.call('RPUSH', KEYS[3], ARGV[3], ARGV[4])
redis.call('RPUSH', KEYS[4], ARGV[4])
redis.call('ZADD', KEYS[5], ARGV[2], ARGV[5])
return 1`

// BenchmarkBare reads a state and writes the payload of a turn with one script, over the
// same connections. Turns are measured against it, in the same run.
func BenchmarkBare(b *testing.B) {
	s := openServer(b)
	w, err := s.prepare(storetest.NextTurn(storetest.State("fernhollow", "+15415550142")))
	require.NoError(b, err)
	bare := newScript(bareLua)
	state, in, out, remind := w.args[11], w.args[15], w.args[19], w.args[29]
	const callers, tubs = 64, 2048
	report(b, s, func() {
		var next atomic.Int64
		var wg sync.WaitGroup
		b.ResetTimer()
		for caller := range callers {
			wg.Go(func() {
				for i := caller; next.Add(1) <= int64(b.N); i += callers {
					tub := fmt.Sprintf("{p00}:+1541555%04d:", i%tubs)
					if _, err := s.do(b.Context(), &call{words: []any{"HGET", tub + "state", "state"}}); err != nil {
						b.Error(err)
						return
					}
					keys := []string{fmt.Sprint(tub, "SM0123456789abcdef", i), tub + "state", tub + "lines", "{p00}:out", "{p00}:due"}
					if _, err := s.run(b.Context(), bare, true, keys, state, fmt.Sprint(i), in, out, remind+fmt.Sprint(i)); err != nil {
						b.Error(err)
						return
					}
				}
			})
		}
		wg.Wait()
		b.StopTimer()
	})
}
