package sqlite_test

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/store"
	"tubhand/internal/store/sqlite"
	"tubhand/internal/store/storetest"
)

func TestContract(t *testing.T) {
	paths := make(map[store.Store]string)
	open := func(tb testing.TB, path string) store.Store {
		s, err := sqlite.Open(path, sqlite.Options{})
		require.NoError(tb, err)
		paths[s] = path
		return s
	}
	storetest.Run(t, func(tb testing.TB) store.Store {
		return open(tb, filepath.Join(tb.TempDir(), "tubhand.db"))
	}, storetest.Features{
		Name: "sqlite",
		Reopen: func(tb testing.TB, s store.Store) store.Store {
			require.NoError(tb, s.Close())
			return open(tb, paths[s])
		},
	})
}
