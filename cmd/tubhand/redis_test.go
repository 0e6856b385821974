package main

import (
	"io"
	"log/slog"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/alicebob/miniredis/v2"
	"github.com/stretchr/testify/require"

	"tubhand/internal/clock"
	"tubhand/internal/store/redis"
	"tubhand/internal/store/redis/redistest"
)

// TestKillRedis kills Redis, or the server, or both, at random moments under load, and in
// the end looks for everything that was acknowledged. Redis syncs always.
func TestKillRedis(t *testing.T) {
	rounds := 12
	if testing.Short() {
		rounds = 6
	}
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	chance := rand.New(rand.NewPCG(seed, 1))
	database := redistest.Start(t)
	far := newReceiver(t, seed)
	p := &prey{t: t, store: []string{"--redis", database.URL(), "--redis-keeps", "always"}, shop: shopFile(t, far.url)}
	owners := newCrowd(t, p, 8, seed)
	p.start(0)
	p.listening()
	for round := range rounds {
		owners.more(int64(20 + chance.IntN(60)))
		<-time.After(time.Duration(chance.IntN(10_000)) * time.Microsecond)
		if round%3 != 1 {
			database.Kill()
		}
		if round%3 != 0 {
			p.kill()
		}
		<-time.After(time.Duration(chance.IntN(500)) * time.Millisecond)
		if round%3 != 1 {
			database.Restart()
		}
		if round%3 != 0 {
			p.start(time.Duration(round) * 20 * time.Minute)
			p.listening()
		}
	}
	owners.finish()
	p.settle()
	p.end()
	t.Logf("%d kills: %d texts acknowledged, %d sent again; %d messages taken by the gateway",
		rounds, owners.acknowledged.Load(), owners.repeated.Load(), len(far.got))

	s, err := redis.Open(t.Context(), database.URL(), redis.Options{})
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	v := verdict{t: t, view: s.View(t.Context(), "fernhollow")}
	v.everyTextOnce(owners)
	v.everyMessageInOrder(far.got)
	v.everyReminderOnce()
}

func TestOpenRedis(t *testing.T) {
	server := miniredis.RunT(t)
	address := filepath.Join(t.TempDir(), "address")
	require.NoError(t, os.WriteFile(address, []byte("redis://"+server.Addr()+"\n"), 0o600))
	open := func(o redisOptions) error {
		s, look, err := openStore(t.Context(), serveOptions{redis: o, clock: clock.System()}, slog.New(slog.NewTextHandler(io.Discard, nil)))
		if err != nil {
			return err
		}
		require.Equal(t, lookAgain, look, "other servers' work is looked for")
		return s.Close()
	}
	require.NoError(t, open(redisOptions{address: "redis://" + server.Addr()}))
	require.NoError(t, open(redisOptions{address: "@" + address}))
	require.ErrorIs(t, open(redisOptions{address: "@" + address + "s"}), os.ErrNotExist)
	require.ErrorContains(t, open(redisOptions{address: "redis://" + server.Addr(), level: redis.LevelAlways}), "is required")
	require.ErrorContains(t, open(redisOptions{address: "redis://" + server.Addr(), replicas: 2}), "add replicas")
}

func TestRedisFlags(t *testing.T) {
	for name, args := range map[string][]string{
		"two places":     {"--shop", "x", "--data", "d", "--redis", "redis://h"},
		"a level alone":  {"--shop", "x", "--redis-keeps", "always"},
		"no such level":  {"--shop", "x", "--redis", "redis://h", "--redis-keeps", "sometimes"},
		"replicas alone": {"--shop", "x", "--redis-replicas", "1"},
	} {
		_, code := parseServe(args, streams{err: io.Discard, out: io.Discard, env: func(string) string { return "" }})
		require.Equal(t, 2, code, name)
	}
	o, code := parseServe([]string{"--shop", "x", "--redis", "redis://h", "--redis-keeps", "everysec", "--redis-replicas", "1"}, streams{err: io.Discard})
	require.Equal(t, -1, code)
	require.Equal(t, redisOptions{"redis://h", redis.LevelEverySecond, 1}, o.redis)
}

// TestTwoServersShareAShop has two servers on one Redis; the one that takes the texts is
// killed in the middle, and the other goes on with what it had in hand.
func TestTwoServersShareAShop(t *testing.T) {
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	database := redistest.Start(t)
	far := newReceiver(t, seed)
	shop := shopFile(t, far.url)
	store := []string{"--redis", database.URL(), "--redis-keeps", "always"}
	first, second := &prey{t: t, store: store, shop: shop}, &prey{t: t, store: store, shop: shop}
	for _, p := range []*prey{first, second} {
		p.start(0)
		p.listening()
	}
	owners := newCrowd(t, first, 8, seed)
	owners.more(60)
	first.kill()
	first.url.Store(second.url.Load()) // gateways try the other address
	owners.more(60)
	second.end()
	second.start(40 * time.Minute)
	second.listening()
	first.url.Store(second.url.Load())
	owners.finish()
	second.settle()
	second.end()

	s, err := redis.Open(t.Context(), database.URL(), redis.Options{})
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	v := verdict{t: t, view: s.View(t.Context(), "fernhollow")}
	v.everyTextOnce(owners)
	v.everyMessageInOrder(far.got)
	v.everyReminderOnce()
}
