package storetest

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

func crowdCases() []promise {
	return []promise{
		{"turns at once on one conversation", "ErrConflict when the stored version is not State.Version: of two turns at once one is decided again", turnsAtOnce},
		{"an event delivered many times at once", "an event is handled once, however often and at whatever time it comes", eventAtOnce},
		{"many claimers", "a message and a reminder is leased to one claimer at a time", manyClaimers},
		{"reading beside writing", "Load sees every commit that was acknowledged", readBesideWrite},
		{"contexts that end at random", "a context that ends writes nothing or everything", endAtRandom},
		{"cancelling beside firing", "a reminder that is cancelled and fired at once is gone, and its turn counts once", cancelBesideFire},
	}
}

// crowd runs do n times at once and waits.
func crowd(n int, do func(i int)) {
	var wg sync.WaitGroup
	for i := range n {
		wg.Go(func() { do(i) })
	}
	wg.Wait()
}

func turnsAtOnce(k *kit) {
	const workers, each = 16, 25
	var conflicts atomic.Int64
	crowd(workers, func(i int) {
		for j := 0; j < each; {
			c, err := k.s.Load(k.ctx, shopA, anna)
			if errors.Is(err, store.ErrNotFound) {
				c = State(shopA, anna)
				c.Misses = 0
			}
			c.Misses++
			t := store.Turn{Shop: shopA, Event: fmt.Sprintf("e-%d-%d", i, j), Now: noon, State: c}
			t.Effects.Lines = []conversation.Line{{ID: t.Event, Direction: conversation.Out, Send: true, Text: fmt.Sprint(c.Misses)}}
			switch err := k.s.Commit(k.ctx, t); {
			case err == nil:
				j++
			case errors.Is(err, store.ErrConflict):
				conflicts.Add(1)
			default:
				k.Errorf("commit: %v", err)
				return
			}
		}
	})
	c := k.load(shopA, anna)
	require.Equal(k, workers*each, c.Misses, "no turn was written over another")
	require.Equal(k, int64(workers*each), c.Version)
	for i, text := range k.said(shopA, anna) {
		require.Equal(k, fmt.Sprint(i+1), text, "the transcript is in the order of the versions")
	}
	k.Logf("%d turns, %d conflicts", workers*each, conflicts.Load())
}

func eventAtOnce(k *kit) {
	k.say(shopA, anna, "hello")
	for round := range 10 {
		t := k.turn(shopA, anna)
		var taken, known, conflicts atomic.Int64
		crowd(16, func(i int) {
			mine := t
			mine.Effects.Lines = []conversation.Line{{ID: fmt.Sprintf("l-%d-%d", round, i), Direction: conversation.In, Text: "done"}}
			switch err := k.s.Commit(k.ctx, mine); {
			case err == nil:
				taken.Add(1)
			case errors.Is(err, store.ErrDuplicate):
				known.Add(1)
			default:
				conflicts.Add(1)
			}
		})
		require.Equal(k, int64(1), taken.Load())
		require.Equal(k, int64(15), known.Load())
	}
	require.Len(k, k.said(shopA, anna), 11)
}

func manyClaimers(k *kit) {
	const tubs = 60
	for i := range tubs {
		t := k.turn(shopA, fmt.Sprintf("tub-%d", i))
		t.Effects.Lines = []conversation.Line{k.line(t, "1"), k.line(t, "2")}
		t.Effects.Remind = []conversation.Reminder{{ID: k.id("reminder"), Due: k.now}}
		k.commit(t)
	}
	var mu sync.Mutex
	sends, fires := make(map[string]int), make(map[string]int)
	crowd(8, func(int) {
		for range 40 {
			out, err := k.s.ClaimOutbox(k.ctx, k.now, time.Minute, 3)
			if err != nil {
				k.Errorf("claim: %v", err)
			}
			due, err := k.s.ClaimDue(k.ctx, k.now, time.Minute, 3)
			if err != nil {
				k.Errorf("claim: %v", err)
			}
			mu.Lock()
			for _, o := range out {
				sends[o.Line.Conversation]++
			}
			for _, d := range due {
				fires[d.Reminder.ID]++
			}
			mu.Unlock()
		}
	})
	require.Len(k, sends, tubs)
	require.Len(k, fires, tubs)
	for id, n := range sends {
		require.Equal(k, 1, n, "messages of %s given out under one lease", id)
	}
	for id, n := range fires {
		require.Equal(k, 1, n, "times that %s was given out under one lease", id)
	}
}

func readBesideWrite(k *kit) {
	crowd(8, func(i int) {
		who := fmt.Sprintf("tub-%d", i)
		for version := int64(0); version < 30; version++ {
			c := State(shopA, who)
			c.Version = version
			if err := k.s.Commit(k.ctx, store.Turn{Shop: shopA, Event: fmt.Sprint(who, version), Now: noon, State: c}); err != nil {
				k.Errorf("commit: %v", err)
				return
			}
			got, err := k.s.Load(k.ctx, shopA, who)
			if err != nil || got.Version != version+1 {
				k.Errorf("after version %d was acknowledged Load gives %d, %v", version+1, got.Version, err)
			}
		}
	})
	require.Equal(k, store.Counts{Conversations: 8, Turns: 240}, k.counts(shopA))
}

func endAtRandom(k *kit) {
	const tubs = 200
	var acknowledged, given atomic.Int64
	acks := make([]bool, tubs)
	crowd(tubs, func(i int) {
		who := fmt.Sprintf("tub-%d", i)
		ctx, cancel := context.WithCancel(k.ctx)
		go cancel()
		t := store.Turn{Shop: shopA, Event: who, Now: noon, State: State(shopA, who)}
		t.Effects.Lines = []conversation.Line{{ID: who, Direction: conversation.Out, Send: true, Text: "1"}, {ID: who + "b", Direction: conversation.In, Text: "2"}}
		t.Effects.Remind = []conversation.Reminder{{ID: who, Due: noon}}
		t.Event = "event of " + who
		switch err := k.s.Commit(ctx, t); {
		case err == nil:
			acknowledged.Add(1)
			acks[i] = true
		case errors.Is(err, context.Canceled):
			given.Add(1)
		default:
			k.Errorf("commit: %v", err)
		}
	})
	written := int64(0)
	for i := range tubs {
		who := fmt.Sprintf("tub-%d", i)
		_, err := k.s.Load(k.ctx, shopA, who)
		if err == nil {
			written++
			require.Equal(k, []string{"1", "2"}, k.said(shopA, who))
			require.Len(k, k.pending(shopA, who), 1)
			continue
		}
		require.ErrorIs(k, err, store.ErrNotFound)
		require.False(k, acks[i], "acknowledged and not there")
		require.Empty(k, k.said(shopA, who))
	}
	require.Equal(k, store.Counts{Conversations: written, Turns: written, Outbox: written, Reminders: written}, k.counts(shopA))
	require.GreaterOrEqual(k, written, acknowledged.Load())
	k.Logf("%d acknowledged, %d given up, %d written", acknowledged.Load(), given.Load(), written)
}

func cancelBesideFire(k *kit) {
	for round := range 20 {
		id := k.remind(shopA, anna, k.now)
		var taken atomic.Int64
		crowd(4, func(i int) {
			for {
				c, err := k.s.Load(k.ctx, shopA, anna)
				if err != nil {
					k.Errorf("load: %v", err)
					return
				}
				t := store.Turn{Shop: shopA, Event: id, Now: k.now, State: c}
				if i%2 == 1 {
					t.Event = fmt.Sprintf("cancel-%d-%d", round, i)
					t.Effects.Cancel = []string{id}
				}
				err = k.s.Commit(k.ctx, t)
				if err == nil && t.Event == id {
					taken.Add(1)
				}
				if !errors.Is(err, store.ErrConflict) {
					return
				}
			}
		})
		require.Equal(k, int64(1), taken.Load())
		require.Empty(k, k.pending(shopA, anna))
		require.Zero(k, k.counts(shopA).Reminders)
	}
}
