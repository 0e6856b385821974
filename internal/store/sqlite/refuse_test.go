//go:build linux

package sqlite_test

import (
	"fmt"
	"os"
	"os/signal"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/store"
	"tubhand/internal/store/sqlite"
	"tubhand/internal/store/storetest"
)

// TestDiskThatRefuses lets writes fail in the middle of transactions, by a limit on the
// size of files, and then lets them pass again.
func TestDiskThatRefuses(t *testing.T) {
	path := file(t)
	s := open(t, path, sqlite.Options{})
	fill(t, s, 3)
	signal.Ignore(syscall.SIGXFSZ)
	t.Cleanup(func() { signal.Reset(syscall.SIGXFSZ) })
	var was syscall.Rlimit
	require.NoError(t, syscall.Getrlimit(syscall.RLIMIT_FSIZE, &was))
	limit := func(size uint64) {
		require.NoError(t, syscall.Setrlimit(syscall.RLIMIT_FSIZE, &syscall.Rlimit{Cur: size, Max: was.Max}))
	}
	t.Cleanup(func() { limit(was.Cur) })

	taken := int64(9)
	for round := range 5 {
		log, err := os.Stat(path + "-wal")
		require.NoError(t, err)
		limit(uint64(log.Size()) + uint64(10_000*round))
		failed := 0
		for i := 0; failed < 3; i++ {
			err := storetest.BenchTurn(t.Context(), s, fmt.Sprintf("tub%d", i%3))
			if err == nil {
				taken++
				continue
			}
			require.ErrorIs(t, err, sqlite.ErrDisk)
			failed++
		}
		limit(was.Cur)
		require.NoError(t, storetest.BenchTurn(t.Context(), s, "tub0"), "the store goes on when the disk does")
		taken++
		require.NoError(t, s.Check(t.Context()))
		counts, err := s.View(t.Context(), fern).Counts()
		require.NoError(t, err)
		require.Equal(t, store.Counts{Conversations: 3, Turns: taken, Outbox: taken, Reminders: 3}, counts)
	}
	require.NoError(t, s.Close())
	again := open(t, path, sqlite.Options{})
	counts, err := again.View(t.Context(), fern).Counts()
	require.NoError(t, err)
	require.Equal(t, taken, counts.Turns)
}
