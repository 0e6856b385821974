package storetest

import (
	"errors"
	"fmt"
	"sync/atomic"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

func endCases() []promise {
	return []promise{
		{"close twice", "Close may be called twice; what is called later fails with ErrClosed", closeTwice},
		{"close under load", "Close ends the store when all work in hand is done", closeUnderLoad},
	}
}

func closeTwice(k *kit) {
	t := k.turn(shopA, anna)
	k.commit(t)
	require.NoError(k, k.s.Close())
	require.NoError(k, k.s.Close())
	_, err := k.s.Load(k.ctx, shopA, anna)
	require.ErrorIs(k, err, store.ErrClosed)
	t.Event = k.id("event")
	require.ErrorIs(k, k.s.Commit(k.ctx, t), store.ErrClosed)
	_, err = k.s.ClaimOutbox(k.ctx, k.now, time.Minute, 1)
	require.ErrorIs(k, err, store.ErrClosed)
	_, err = k.s.ClaimDue(k.ctx, k.now, time.Minute, 1)
	require.ErrorIs(k, err, store.ErrClosed)
	require.ErrorIs(k, k.s.SettleOutbox(k.ctx, []store.Result{{Shop: shopA, Line: "x", Kind: store.Sent}}), store.ErrClosed)
	require.ErrorIs(k, k.s.Delivered(k.ctx, shopA, "x", "sent"), store.ErrClosed)
	_, _, err = k.s.NextDue(k.ctx)
	require.ErrorIs(k, err, store.ErrClosed)
	_, err = k.view(shopA).Board(10)
	require.ErrorIs(k, err, store.ErrClosed)
	_, err = k.s.Document(k.ctx, shopA, "kind", "key", k.now)
	require.ErrorIs(k, err, store.ErrClosed)
	require.ErrorIs(k, k.s.PutDocument(k.ctx, shopA, store.Document{Kind: "kind", Key: "key"}, k.now), store.ErrClosed)
	require.ErrorIs(k, k.s.AppendAudit(k.ctx, shopA, store.AuditEntry{Act: "x"}), store.ErrClosed)
	_, err = k.s.Audit(k.ctx, shopA, 0, 10)
	require.ErrorIs(k, err, store.ErrClosed)
}

func closeUnderLoad(k *kit) {
	var taken atomic.Int64
	started := make(chan struct{}, 8)
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		crowd(8, func(i int) {
			for n := 0; ; n++ {
				who := fmt.Sprintf("tub-%d-%d", i, n)
				err := k.s.Commit(k.ctx, store.Turn{Shop: shopA, Event: who, Now: noon, State: State(shopA, who)})
				if errors.Is(err, store.ErrClosed) {
					return
				}
				if err != nil {
					k.Errorf("commit: %v", err)
					return
				}
				taken.Add(1)
				if n == 3 {
					started <- struct{}{}
				}
			}
		})
	}()
	for range 8 {
		<-started
	}
	require.NoError(k, k.s.Close())
	<-ended
	require.GreaterOrEqual(k, taken.Load(), int64(8*4))
}

// durableCases are for stores that outlive their process.
func durableCases(f Features) []promise {
	return []promise{
		{"everything is there again", "Commit returns only when the turn is durable", func(k *kit) { thereAgain(k, f) }},
		{"what was erased stays erased", "returns when that is durable", func(k *kit) { erasedForGood(k, f) }},
		{"marks are there again", "Marks are kept for at least 72 hours", func(k *kit) { marksAgain(k, f) }},
	}
}

func thereAgain(k *kit, f Features) {
	ids := k.say(shopA, anna, "1", "2", "3")
	reminder := k.remind(shopA, anna, k.now.Add(time.Minute))
	k.handover(anna, conversation.Handover{ID: "h", Severity: "emergency", Opened: k.now})
	k.claim(1)
	k.settle(store.Result{Shop: shopA, Line: ids[0], Kind: store.Sent})
	k.put(shopA, store.Document{Kind: "account", Key: "dana", Value: []byte("x")})
	k.tell(shopA, 1, 2)
	board := func() []store.Card {
		k.Helper()
		cards, err := k.view(shopA).Board(10)
		require.NoError(k, err)
		return cards
	}
	wantBoard, wantCounts := board(), k.counts(shopA)
	k.s = f.Reopen(k, k.s)
	require.Equal(k, wantBoard, board())
	require.Equal(k, wantCounts, k.counts(shopA))
	require.Equal(k, []string{"sent", "queued", "queued"}, k.delivery(shopA, anna))
	require.Equal(k, []string{"h"}, k.handovers(false, 10))
	require.Equal(k, ids[1:2], k.claim(10))
	k.now = k.now.Add(time.Minute)
	require.Equal(k, []string{reminder}, k.due(10))
	require.Equal(k, []string{"dana"}, k.keys(shopA, "account", "", 10))
	k.tell(shopA, 3, 3)
	told, _ := k.audit(shopA, 0, 10)
	require.Equal(k, []string{"3", "2", "1"}, told)
	k.say(shopA, ben, "new")
	require.Equal(k, ben, board()[0].State.ID, "the board's order goes on")
}

func marksAgain(k *kit, f Features) {
	t := k.turn(shopA, anna)
	k.commit(t)
	k.s = f.Reopen(k, k.s)
	again := k.turn(shopA, anna)
	again.Event = t.Event
	require.ErrorIs(k, k.s.Commit(k.ctx, again), store.ErrDuplicate)
}
