package redis_test

import (
	"context"
	"testing"
	"time"

	"github.com/alicebob/miniredis/v2"
	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/redis"
	"tubhand/internal/store/redis/redistest"
	"tubhand/internal/store/storetest"
)

// two opens two stores on a server, as two processes would.
func two(t *testing.T, url string) (a, b *redis.Store) {
	t.Helper()
	for _, s := range []**redis.Store{&a, &b} {
		var err error
		*s, err = redis.Open(t.Context(), url, redis.Options{})
		require.NoError(t, err)
		t.Cleanup(func() { require.NoError(t, (*s).Close()) })
	}
	return a, b
}

func sending(who, event string) store.Turn {
	turn := store.Turn{Shop: "fern", Event: event, Now: noon, State: storetest.State("fern", who)}
	turn.Effects.Lines = []conversation.Line{{ID: who + ".1", Direction: conversation.Out, Send: true, To: who, Text: "hi"}}
	turn.Effects.Remind = []conversation.Reminder{{ID: who + ".2", Due: noon}}
	return turn
}

func TestTwoProcessesShareTheWork(t *testing.T) {
	a, b := two(t, redistest.Start(t).URL())
	for _, s := range []*redis.Store{a, b} { // both know that there is nothing yet
		_, ok, err := s.NextDue(t.Context())
		require.NoError(t, err)
		require.False(t, ok)
	}
	require.NoError(t, a.Commit(t.Context(), sending("anna", "1")))
	redistest.Wait(t, func(ctx context.Context) bool {
		_, ok, err := b.NextDue(ctx)
		return err == nil && ok
	})
	out, err := b.ClaimOutbox(t.Context(), noon, time.Minute, 10)
	require.NoError(t, err)
	require.Len(t, out, 1)
	out, err = a.ClaimOutbox(t.Context(), noon, time.Minute, 10)
	require.NoError(t, err)
	require.Empty(t, out, "it is leased to the other")
	due, err := a.ClaimDue(t.Context(), noon, time.Minute, 10)
	require.NoError(t, err)
	require.Len(t, due, 1)

	// a dies: b takes its work over when the lease has run out, and only one turn counts.
	later := noon.Add(time.Minute)
	var again []store.Due
	redistest.Wait(t, func(ctx context.Context) bool {
		again, err = b.ClaimDue(ctx, later, time.Minute, 10)
		return err == nil && len(again) == 1
	})
	require.Equal(t, due, again)
	fired := func(s *redis.Store) error {
		c, err := s.Load(t.Context(), "fern", "anna")
		require.NoError(t, err)
		return s.Commit(t.Context(), store.Turn{Shop: "fern", Event: "anna.2", Now: later, State: c})
	}
	require.NoError(t, fired(b))
	require.ErrorIs(t, fired(a), store.ErrDuplicate)
}

func TestChangesAreToldAcrossProcesses(t *testing.T) {
	server := redistest.Start(t)
	a, b := two(t, server.URL())
	changes := a.Watch(t.Context(), "fern")
	require.NoError(t, b.Commit(t.Context(), sending("anna", "1")))
	require.Equal(t, store.Change{Shop: "fern", Conversation: "anna"}, <-changes)
	server.Restart()
	require.Equal(t, store.Change{Shop: "fern"}, <-changes, "something may have been missed: read everything")
	redistest.Wait(t, func(ctx context.Context) bool { return b.Commit(ctx, sending("ben", "2")) == nil })
	require.Equal(t, store.Change{Shop: "fern", Conversation: "ben"}, <-changes)
}

func TestAServerThatAnswersNothing(t *testing.T) {
	server := redistest.Start(t)
	a, _ := two(t, server.URL())
	require.NoError(t, a.Commit(t.Context(), sending("anna", "1")))
	server.Pause()
	err := a.Commit(t.Context(), sending("ben", "2"))
	server.Resume()
	require.ErrorContains(t, err, "redis: ", "it is not acknowledged, and comes again")
	redistest.Wait(t, func(ctx context.Context) bool {
		err = a.Commit(ctx, sending("ben", "2"))
		return err == nil || err == store.ErrDuplicate
	})
	counts, err := a.View(t.Context(), "fern").Counts()
	require.NoError(t, err)
	require.Equal(t, store.Counts{Conversations: 2, Turns: 2, Outbox: 2, Reminders: 2}, counts)
}

func TestFullMemoryRefusesTurnsWhole(t *testing.T) {
	server := redistest.Start(t)
	a, _ := two(t, server.URL())
	require.NoError(t, a.Commit(t.Context(), sending("anna", "1")))
	require.NoError(t, server.Client().ConfigSet(t.Context(), "maxmemory", "1").Err())
	require.ErrorContains(t, a.Commit(t.Context(), sending("ben", "2")), "raise maxmemory")
	_, err := a.Load(t.Context(), "fern", "ben")
	require.ErrorIs(t, err, store.ErrNotFound)
	require.NoError(t, server.Client().ConfigSet(t.Context(), "maxmemory", "0").Err())
	require.NoError(t, a.Commit(t.Context(), sending("ben", "2")))
}

func TestScriptsThatAServerHasForgotten(t *testing.T) {
	server := redistest.Start(t)
	a, _ := two(t, server.URL())
	require.NoError(t, a.Commit(t.Context(), sending("anna", "1")))
	require.NoError(t, server.Client().ScriptFlush(t.Context()).Err())
	require.NoError(t, a.Commit(t.Context(), sending("ben", "2")))
}

func TestWhatTheServerPromises(t *testing.T) {
	for _, c := range []struct {
		settings []string
		level    string
		replicas int
		refused  string
		plain    string
		warning  string
	}{
		{nil, redis.LevelAlways, 0, "", "each acknowledged turn is on its disk", ""},
		{nil, redis.LevelAlways, 1, "has 0 replicas", "each acknowledged turn is on its disk", ""},
		{[]string{"--appendfsync", "everysec"}, redis.LevelEverySecond, 0, "", "the last second", "set appendfsync always"},
		{[]string{"--appendfsync", "everysec"}, redis.LevelAlways, 0, `"everysec"`, "the last second", "set appendfsync always"},
		{[]string{"--appendfsync", "no"}, redis.LevelEverySecond, 0, `"none"`, "its last snapshot", "turn on appendonly"},
		{[]string{"--appendonly", "no"}, redis.LevelEverySecond, 0, `"none"`, "its last snapshot", "turn on appendonly"},
		{[]string{"--maxmemory-policy", "allkeys-lru"}, redis.LevelAlways, 0, "deletes records", "on its disk", "noeviction"},
	} {
		server := redistest.Start(t, c.settings...)
		any, err := redis.Open(t.Context(), server.URL(), redis.Options{})
		require.NoError(t, err, "what is not required is only told")
		said, err := any.Durability(t.Context())
		require.NoError(t, err)
		require.Len(t, said, 1)
		require.Equal(t, server.Address, said[0].Address)
		plain, warning := said[0].Says()
		require.Contains(t, plain, c.plain)
		require.Contains(t, warning, c.warning)
		require.Equal(t, c.warning == "", warning == "")
		require.NoError(t, any.Close())

		s, err := redis.Open(t.Context(), server.URL(), redis.Options{Level: c.level, Replicas: c.replicas})
		if c.refused != "" {
			require.ErrorContains(t, err, c.refused)
			continue
		}
		require.NoError(t, err)
		require.NoError(t, s.Close())
	}
}

func TestAServerThatKeepsItsSettingsToItself(t *testing.T) {
	s, err := redis.Open(t.Context(), "redis://"+miniredis.RunT(t).Addr(), redis.Options{})
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	said, err := s.Durability(t.Context())
	require.NoError(t, err)
	require.Equal(t, redis.LevelUnknown, said[0].Level)
	_, warning := said[0].Says()
	require.Contains(t, warning, "ask its operator")
}
