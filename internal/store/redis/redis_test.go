package redis_test

import (
	"testing"

	"github.com/alicebob/miniredis/v2"
	"github.com/stretchr/testify/require"

	"tubhand/internal/store"
	"tubhand/internal/store/redis"
	"tubhand/internal/store/storetest"
)

// TestContractOnAStandIn runs the suite on a server within the process. It hides much: no
// slots, no disk, no sharded channels. The real ones are next.
func TestContractOnAStandIn(t *testing.T) {
	server := miniredis.RunT(t)
	address := "redis://" + server.Addr()
	open := func(tb testing.TB) store.Store {
		server.FlushAll()
		return reopen(tb, address)
	}
	storetest.Run(t, open, storetest.Features{Name: "redis on a stand-in", Reopen: func(tb testing.TB, s store.Store) store.Store {
		require.NoError(tb, s.Close())
		return reopen(tb, address)
	}})
}

func reopen(tb testing.TB, address string) store.Store {
	tb.Helper()
	s, err := redis.Open(tb.Context(), address, redis.Options{})
	require.NoError(tb, err)
	return s
}
