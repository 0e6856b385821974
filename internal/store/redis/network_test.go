package redis_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/redis"
	"tubhand/internal/store/redis/redistest"
)

// TestNetworkThatFailsUnderLoad breaks the network between the store and its server while
// texts come in, at a random byte, and heals it once so many texts were turned away.
func TestNetworkThatFailsUnderLoad(t *testing.T) {
	server := redistest.Start(t)
	for name, c := range map[string]struct {
		fault      redistest.Fault
		slow       time.Duration // always
		stall      time.Duration // instead of a fault
		rounds     int
		turnedAway int64 // until it heals
	}{
		"slow":                       {slow: 30 * time.Millisecond},
		"slower than a call may be":  {stall: 3500 * time.Millisecond, rounds: 1, turnedAway: 1},
		"reset in mid-command":       {fault: redistest.Torn, rounds: 5, turnedAway: 20},
		"answers lost, half closed":  {fault: redistest.Deaf, rounds: 5, turnedAway: 20},
		"swallowed, delivered late":  {fault: redistest.Swallow, rounds: 1, turnedAway: 1},
		"slow, and reset at a byte":  {slow: 10 * time.Millisecond, fault: redistest.Torn, rounds: 2, turnedAway: 20},
		"slow, and its answers lost": {slow: 10 * time.Millisecond, fault: redistest.Deaf, rounds: 2, turnedAway: 20},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			proxy := redistest.StartProxy(t, server.Address)
			s, err := redis.Open(t.Context(), proxy.URL(), redis.Options{Name: fmt.Sprintf("case%x", name)})
			require.NoError(t, err)
			t.Cleanup(func() { require.NoError(t, s.Close()) })
			proxy.Slow(c.slow)
			f := &traffic{s: s, tubs: 15, each: 20}
			f.run(t, func(done int64) {
				if c.rounds == 0 || done%(300/int64(c.rounds+1)) != 0 || done/(300/int64(c.rounds+1)) > int64(c.rounds) {
					return
				}
				enough := f.repeats.Load() + c.turnedAway
				if c.stall > 0 {
					proxy.Slow(c.stall)
				} else {
					proxy.Break(c.fault, rand.IntN(3000))
				}
				redistest.Wait(t, func(context.Context) bool { return f.repeats.Load() >= enough })
				proxy.Slow(c.slow)
				proxy.Heal()
			})
			require.GreaterOrEqual(t, f.repeats.Load(), int64(c.rounds)*c.turnedAway, "the network was broken at all")
			f.verify(t)
		})
	}
}

// TestRestartsUnderLoad has the server end in order and start on its log, twice while
// texts come in, the second time while it writes the log anew.
func TestRestartsUnderLoad(t *testing.T) {
	server := redistest.Start(t)
	s, err := redis.Open(t.Context(), server.URL(), redis.Options{Level: redis.LevelAlways})
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	client := server.Client()
	f := &traffic{s: s, tubs: 15, each: 20}
	f.run(t, func(done int64) {
		if done != 100 && done != 200 {
			return
		}
		if done == 200 {
			_ = client.BgRewriteAOF(t.Context()).Err()
		}
		enough := f.repeats.Load() + 15
		_ = client.Do(t.Context(), "SHUTDOWN", "NOSAVE", "FORCE").Err() // it hangs up instead of answering
		redistest.Wait(t, func(context.Context) bool { return f.repeats.Load() >= enough })
		server.Restart()
	})
	f.verify(t)
}

// TestTwoNodesFireTheSameReminders gives every due reminder to two processes at once, as
// when a lease runs out under a slow one: one turn each, whoever was first.
func TestTwoNodesFireTheSameReminders(t *testing.T) {
	const tubs = 60
	a, b := two(t, redistest.Start(t).URL())
	for i := range tubs {
		require.NoError(t, a.Commit(t.Context(), sending(fmt.Sprint("tub", i), fmt.Sprint("text", i))))
	}
	var won, late, beaten atomic.Int64
	fire := func(s *redis.Store, d store.Due) error {
		for {
			c, err := s.Load(t.Context(), d.Shop, d.Reminder.Conversation)
			if err != nil {
				return err
			}
			line := conversation.Line{ID: c.ID + ".due", Direction: conversation.Out, Send: true, To: c.ID, Text: "it is time"}
			err = s.Commit(t.Context(), store.Turn{Shop: d.Shop, Event: d.Reminder.ID, Now: noon, State: c,
				Effects: conversation.Effects{Lines: []conversation.Line{line}}})
			switch {
			case errors.Is(err, store.ErrConflict):
				beaten.Add(1)
				continue
			case errors.Is(err, store.ErrDuplicate):
				late.Add(1)
				return nil
			}
			won.Add(1)
			return err
		}
	}
	var due [2][]store.Due
	for i, s := range []*redis.Store{a, b} {
		redistest.Wait(t, func(ctx context.Context) (all bool) {
			var err error
			due[i], err = s.ClaimDue(ctx, noon, 0, 2*tubs) // the lease is over at once
			return err == nil && len(due[i]) == tubs
		})
	}
	var all sync.WaitGroup
	for i, s := range []*redis.Store{a, b} {
		for _, d := range due[i] {
			all.Go(func() {
				if err := fire(s, d); err != nil {
					t.Errorf("%s: %v", d.Reminder.ID, err)
				}
			})
		}
	}
	all.Wait()
	require.EqualValues(t, tubs, won.Load(), "one turn for each reminder")
	counts, err := a.View(t.Context(), "fern").Counts()
	require.NoError(t, err)
	require.Equal(t, store.Counts{Conversations: tubs, Turns: 2 * tubs, Outbox: 2 * tubs}, counts)
	t.Logf("%d reminders given to two nodes at once: %d turns, %d known as done, %d of these after a conflict",
		tubs, won.Load(), late.Load(), beaten.Load())
}

// TestClocksThatDisagree has one node's clock an hour ahead of the other's: what it has
// leased and died over, and what it put off, comes late by as much and is not lost.
func TestClocksThatDisagree(t *testing.T) {
	a, b := two(t, redistest.Start(t).URL())
	require.NoError(t, a.Commit(t.Context(), sending("anna", "1")))
	ahead := noon.Add(time.Hour)
	due, err := a.ClaimDue(t.Context(), ahead, time.Minute, 1)
	require.NoError(t, err)
	require.Len(t, due, 1)
	out, err := a.ClaimOutbox(t.Context(), ahead, time.Minute, 1)
	require.NoError(t, err)
	require.Len(t, out, 1)
	at, ok, err := b.NextDue(t.Context())
	require.NoError(t, err)
	require.True(t, ok)
	require.Equal(t, ahead.Add(time.Minute), at, "it is known when")
	due, err = b.ClaimDue(t.Context(), at, time.Minute, 1)
	require.NoError(t, err)
	require.Len(t, due, 1)
	out, err = b.ClaimOutbox(t.Context(), at, time.Minute, 1)
	require.NoError(t, err)
	require.Len(t, out, 1)
	require.Equal(t, 2, out[0].Attempt)
	t.Log("a node an hour ahead died over a reminder and a message: both are given out again an hour and a lease later, none is lost")
}

// TestReportsInAnyOrder repeats delivery reports of one message and mixes their order with
// its settling and with those of others: the state only goes forward, and the next message
// follows once.
func TestReportsInAnyOrder(t *testing.T) {
	server := redistest.Start(t)
	a, b := two(t, server.URL())
	const tubs = 24
	for i := range tubs {
		turn := sending(fmt.Sprint("tub", i), fmt.Sprint("text", i))
		next := turn.Effects.Lines[0]
		next.ID, next.Text = turn.State.ID+".next", "second"
		turn.Effects.Lines = append(turn.Effects.Lines, next)
		turn.Effects.Remind = nil
		require.NoError(t, a.Commit(t.Context(), turn))
	}
	out, err := a.ClaimOutbox(t.Context(), noon, time.Minute, 2*tubs)
	require.NoError(t, err)
	require.Len(t, out, tubs, "one of each queue")
	for i, o := range out {
		words := []string{"delivered", "sent", "delivered", "settle", "settle", "retry"}
		if i%3 == 0 { // after it has left the outbox, nothing puts it back
			words = []string{"settle", "delivered", "retry", "sent", "delivered"}
		}
		if i%3 != 0 {
			rand.Shuffle(len(words)-1, func(x, y int) { words[x+1], words[y+1] = words[y+1], words[x+1] })
		}
		for j, word := range words {
			s := []*redis.Store{a, b}[j%2]
			switch word {
			case "settle":
				err = s.SettleOutbox(t.Context(), []store.Result{{Shop: o.Shop, Line: o.Line.ID, Kind: store.Sent}})
			case "retry":
				err = s.SettleOutbox(t.Context(), []store.Result{{Shop: o.Shop, Line: o.Line.ID, Kind: store.Retry, Next: noon}})
			default:
				err = s.Delivered(t.Context(), o.Shop, o.Line.ID, word)
			}
			require.NoError(t, err, word)
		}
		lines, err := b.View(t.Context(), "fern").Transcript(o.Line.To, 10)
		require.NoError(t, err)
		require.Equal(t, "delivered", lines[0].Delivery, words)
		require.Equal(t, "queued", lines[1].Delivery, words)
	}
	again, err := a.ClaimOutbox(t.Context(), noon, time.Minute, 2*tubs)
	require.NoError(t, err)
	require.Len(t, again, tubs)
	for _, o := range again {
		require.Equal(t, "second", o.Line.Text, "the first does not come back")
	}
	counts, err := a.View(t.Context(), "fern").Counts()
	require.NoError(t, err)
	require.EqualValues(t, tubs, counts.Outbox)
	t.Logf("%d messages with repeated and shuffled reports, before and after settling, to two nodes: all delivered, none back in the outbox", tubs)
}
