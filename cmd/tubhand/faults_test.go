package main

import (
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/store/redis"
	"tubhand/internal/store/redis/redistest"
)

// TestTwoServersWhoseNetworksFail has two servers on one Redis, each behind a network of
// its own that fails in turn, while texts come to one and then to the other and the
// gateway loses answers.
func TestTwoServersWhoseNetworksFail(t *testing.T) {
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	chance := rand.New(rand.NewPCG(seed, 1))
	database := redistest.Start(t)
	far := newReceiver(t, seed)
	shop := shopFile(t, far.url)
	var networks []*redistest.Proxy
	var servers []*prey
	for range 2 {
		network := redistest.StartProxy(t, database.Address)
		p := &prey{t: t, store: []string{"--redis", network.URL(), "--redis-keeps", "always"}, shop: shop}
		p.start(0)
		p.listening()
		networks, servers = append(networks, network), append(servers, p)
	}
	entrance := &prey{t: t} // gateways try one address, then the other
	entrance.url.Store(servers[0].url.Load())
	owners := newCrowd(t, entrance, 8, seed)
	faults := []redistest.Fault{redistest.Torn, redistest.Deaf, redistest.Swallow}
	for round := range 6 {
		owners.more(40)
		victim := round % 2
		networks[victim].Break(faults[round%3], chance.IntN(3000))
		networks[1-victim].Slow(time.Duration(chance.IntN(5)) * time.Millisecond)
		<-time.After(time.Duration(100+chance.IntN(300)) * time.Millisecond)
		entrance.url.Store(servers[1-victim].url.Load())
		owners.more(20)
		networks[victim].Heal()
	}
	owners.finish()
	for _, p := range servers {
		p.end()
	}
	// What was leased when an answer got lost is free again, and reminders are due.
	servers[1].start(40 * time.Minute)
	servers[1].listening()
	servers[1].settle()
	servers[1].end()
	s, err := redis.Open(t.Context(), database.URL(), redis.Options{})
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	v := verdict{t: t, view: s.View(t.Context(), "fernhollow")}
	v.everyTextOnce(owners)
	v.everyMessageInOrder(far.got)
	v.everyReminderOnce()
	t.Logf("2 servers, 6 broken networks: %d texts acknowledged, %d sent again, %d messages taken by the gateway: none lost, none doubled, in order",
		owners.acknowledged.Load(), owners.repeated.Load(), len(far.got))
}
