package redis_test

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/redis"
	"tubhand/internal/store/redis/redistest"
	"tubhand/internal/store/storetest"
)

// traffic is owners of several shops who text while servers die. Like a gateway, each
// repeats a text until it is taken.
type traffic struct {
	s       *redis.Store
	tubs    int
	each    int // texts of each
	done    atomic.Int64
	repeats atomic.Int64
	known   atomic.Int64 // repeats that turned out to be written already
}

func (f *traffic) shop(tub int) string { return fmt.Sprintf("shop%d", tub%5) }

// run sends everything. At reaches what is done so far.
func (f *traffic) run(t *testing.T, at func(done int64)) {
	var all sync.WaitGroup
	for tub := range f.tubs {
		all.Go(func() {
			for n := range f.each {
				if !f.text(t, tub, n) {
					return
				}
				at(f.done.Add(1))
			}
		})
	}
	all.Wait()
}

// text repeats one text until it is taken.
func (f *traffic) text(t *testing.T, tub, n int) bool {
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	tick := time.NewTicker(50 * time.Millisecond)
	defer tick.Stop()
	for {
		err := f.turn(ctx, tub, n)
		switch {
		case err == nil:
			return true
		case errors.Is(err, store.ErrDuplicate):
			f.known.Add(1)
			return true
		}
		f.repeats.Add(1)
		select {
		case <-ctx.Done():
			t.Errorf("text %d of tub %d is not taken within a minute: %v", n, tub, err)
			return false
		case <-tick.C:
		}
	}
}

func (f *traffic) turn(ctx context.Context, tub, n int) error {
	shop, who := f.shop(tub), fmt.Sprint("tub", tub)
	c, err := f.s.Load(ctx, shop, who)
	if errors.Is(err, store.ErrNotFound) {
		c, err = storetest.State(shop, who), nil
	}
	if err != nil {
		return err
	}
	id := fmt.Sprintf("%s.%d", who, c.Version)
	return f.s.Commit(ctx, store.Turn{
		Shop: shop, Event: fmt.Sprintf("text-%d-%d", tub, n), Now: noon, State: c,
		Effects: conversation.Effects{
			Lines:  []conversation.Line{{ID: id, At: noon, Direction: conversation.Out, Send: true, To: who, Text: fmt.Sprint(n)}},
			Remind: []conversation.Reminder{{ID: id + "r", Due: noon.Add(time.Hour)}},
			Cancel: []string{fmt.Sprintf("%s.%dr", who, c.Version-1)},
		},
	})
}

var noon = time.Date(2026, 6, 13, 12, 0, 0, 0, time.UTC)

// verify looks that each text is there once, in order, with all that belongs to it.
func (f *traffic) verify(t *testing.T) {
	t.Helper()
	for tub := range f.tubs {
		who := fmt.Sprint("tub", tub)
		v := f.s.View(t.Context(), f.shop(tub))
		c, err := f.s.Load(t.Context(), f.shop(tub), who)
		require.NoError(t, err)
		require.Equal(t, int64(f.each), c.Version, "as many turns as texts were acknowledged")
		lines, err := v.Transcript(who, 10*f.each)
		require.NoError(t, err)
		require.Len(t, lines, f.each)
		for n, l := range lines {
			require.Equal(t, fmt.Sprint(n), l.Text)
		}
		pending, err := v.Reminders(who)
		require.NoError(t, err)
		require.Len(t, pending, 1)
	}
	for i := range 5 {
		counts, err := f.s.View(t.Context(), f.shop(i)).Counts()
		require.NoError(t, err)
		tubs := int64(f.tubs / 5)
		turns := tubs * int64(f.each)
		require.Equal(t, store.Counts{Conversations: tubs, Turns: turns, Outbox: turns, Reminders: tubs}, counts)
	}
	t.Logf("%d texts, each acknowledged and there once; %d repeats, %d of them written before their answer was lost",
		f.done.Load(), f.repeats.Load(), f.known.Load())
}

// TestKilledUnderLoad kills a server that syncs always, three times, while texts come in.
func TestKilledUnderLoad(t *testing.T) {
	server := redistest.Start(t)
	s, err := redis.Open(t.Context(), server.URL(), redis.Options{Level: redis.LevelAlways})
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	f := &traffic{s: s, tubs: 30, each: 60}
	f.run(t, func(done int64) {
		if done != 400 && done != 800 && done != 1200 {
			return
		}
		server.Kill()
		turnedAway := f.repeats.Load() + 100
		redistest.Wait(t, func(context.Context) bool { return f.repeats.Load() >= turnedAway })
		server.Restart()
	})
	f.verify(t)
}

// TestMasterKilledUnderLoad kills a master of a cluster whose replicas confirm each turn.
func TestMasterKilledUnderLoad(t *testing.T) {
	cluster := redistest.StartCluster(t, 3, 1)
	s, err := redis.Open(t.Context(), cluster.URL(), redis.Options{Level: redis.LevelAlways, Replicas: 1})
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	f := &traffic{s: s, tubs: 20, each: 40}
	var back sync.WaitGroup
	f.run(t, func(done int64) {
		if done == 300 {
			back.Go(func() { failOver(t, cluster.Servers[0], cluster.Servers[1]) })
		}
	})
	back.Wait()
	f.verify(t)
}

// failOver kills a master, waits until its replica has taken over, and brings it back.
func failOver(t *testing.T, victim, witness *redistest.Server) {
	victim.Kill()
	client := witness.Client()
	redistest.Wait(t, func(ctx context.Context) bool {
		info, err := client.ClusterInfo(ctx).Result()
		masters, err2 := client.ClusterSlots(ctx).Result()
		if err != nil || err2 != nil || len(info) == 0 {
			return false
		}
		for _, slots := range masters {
			if len(slots.Nodes) > 0 && slots.Nodes[0].Addr == victim.Address {
				return false
			}
		}
		return true
	})
	victim.Restart()
}
