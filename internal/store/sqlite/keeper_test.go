package sqlite

import (
	"fmt"
	"os"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/store/storetest"
)

// TestLogStartsOver writes many times what the log may hold, without a moment's rest, and
// looks that the log is moved into the file on the way.
func TestLogStartsOver(t *testing.T) {
	s := openFile(t)
	inside(t, s, func(*writer) error {
		s.keeper.every, s.keeper.limit = 32, 200
		return nil
	})
	const most = 8 << 20 // a sixth of what is written
	for range 10 {
		var wg sync.WaitGroup
		for caller := range 8 {
			wg.Go(func() {
				for i := range 40 {
					if err := storetest.BenchTurn(t.Context(), s, fmt.Sprintf("tub%d-%d", caller, i)); err != nil {
						t.Error(err)
						return
					}
				}
			})
		}
		wg.Wait()
		log, err := os.Stat(s.path + "-wal")
		require.NoError(t, err)
		require.Less(t, log.Size(), int64(most), "the log goes on growing")
	}
	file, err := os.Stat(s.path)
	require.NoError(t, err)
	require.Greater(t, file.Size(), int64(200*4096), "what the log held is in the file")
	require.NoError(t, s.Check(t.Context()))
}
