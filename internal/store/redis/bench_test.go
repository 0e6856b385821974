package redis

import (
	"strconv"
	"strings"
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

// BenchmarkBare is what turns are measured against, in the same run.
func BenchmarkBare(b *testing.B) {
	bare, err := OpenBare(b.Context(), redistest.Start(b).URL(), Options{Level: LevelAlways},
		storetest.NextTurn(storetest.State("fernhollow", "+15415550142")))
	require.NoError(b, err)
	b.Cleanup(func() { require.NoError(b, bare.Close()) })
	report(b, bare.s, func() { storetest.BenchCalls(b, bare.Turn) })
}
