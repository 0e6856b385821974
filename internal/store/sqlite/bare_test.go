package sqlite

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
	"tubhand/internal/store/storetest"
)

func openBare(tb testing.TB) *Bare {
	tb.Helper()
	b, err := OpenBare(filepath.Join(tb.TempDir(), "bare.db"), storetest.NextTurn(storetest.State("fernhollow", "+15415550142")))
	require.NoError(tb, err)
	tb.Cleanup(func() { require.NoError(tb, b.Close()) })
	return b
}

// TestBareWritesAsMuchAsATurn: the yardstick may not be shorter than it says.
func TestBareWritesAsMuchAsATurn(t *testing.T) {
	b := openBare(t)
	for n := range int64(10) {
		require.NoError(t, b.Turn(t.Context(), n%3, n))
	}
	for table, rows := range map[string]int64{"bare_state": 3, "bare_line": 20, "bare_outbox": 10, "bare_reminder": 10, "bare_mark": 10} {
		require.Equal(t, rows, count(t, b.s, "SELECT count(*) FROM "+table), table)
	}
	require.Greater(t, count(t, b.s, "SELECT min(length(body)) FROM bare_state"), int64(1000))
	_, err := OpenBare(filepath.Join(t.TempDir(), "bare.db"), store.Turn{Shop: "fern", State: storetest.State("fern", "anna")})
	require.ErrorIs(t, err, record.ErrTurn)
}

func BenchmarkBare(b *testing.B) { storetest.BenchCalls(b, openBare(b).Turn) }
