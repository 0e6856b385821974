package redis_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/store"
	"tubhand/internal/store/redis/redistest"
	"tubhand/internal/store/storetest"
)

func TestContractOnAServer(t *testing.T) {
	server := redistest.Start(t)
	client := server.Client()
	open := func(tb testing.TB) store.Store {
		require.NoError(tb, client.FlushAll(tb.Context()).Err())
		return reopen(tb, server.URL())
	}
	storetest.Run(t, open, storetest.Features{Name: "redis on a server that syncs always", Reopen: func(tb testing.TB, s store.Store) store.Store {
		require.NoError(tb, s.Close())
		server.Restart() // killed, and started on what its disk holds
		return reopen(tb, server.URL())
	}})
}

func TestContractOnACluster(t *testing.T) {
	cluster := redistest.StartCluster(t, 3, 0)
	open := func(tb testing.TB) store.Store {
		cluster.FlushAll(tb)
		return reopen(tb, cluster.URL())
	}
	storetest.Run(t, open, storetest.Features{Name: "redis on a cluster of three masters", Reopen: func(tb testing.TB, s store.Store) store.Store {
		require.NoError(tb, s.Close())
		return reopen(tb, cluster.URL())
	}})
}
