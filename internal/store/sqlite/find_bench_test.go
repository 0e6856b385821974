package sqlite_test

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/store/sqlite"
	"tubhand/internal/store/storetest"
)

func BenchmarkFind(b *testing.B) {
	s, err := sqlite.Open(filepath.Join(b.TempDir(), "tubhand.db"), sqlite.Options{})
	require.NoError(b, err)
	b.Cleanup(func() { require.NoError(b, s.Close()) })
	storetest.BenchFind(b, s, 100_000)
}
