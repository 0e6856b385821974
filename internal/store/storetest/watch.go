package storetest

import (
	"context"

	"github.com/stretchr/testify/require"

	"tubhand/internal/store"
)

func watchCases() []promise {
	return []promise{
		{"changes are told", "Watch tells which conversations of a shop changed", changesTold},
		{"a slow reader is told to read everything", "Changes may be dropped for a slow reader, who then gets a Change with no Conversation", slowReader},
		{"a watch ends with its context", "Watch tells, until ctx ends", watchEnds},
		{"close ends watches", "Close ends the store", closeEndsWatches},
	}
}

func changesTold(k *kit) {
	a, b := k.s.Watch(k.ctx, shopA), k.s.Watch(k.ctx, shopB)
	ids := k.say(shopA, anna, "1")
	require.Equal(k, store.Change{Shop: shopA, Conversation: anna}, <-a)
	require.NoError(k, k.s.Delivered(k.ctx, shopA, ids[0], "delivered"))
	require.Equal(k, store.Change{Shop: shopA, Conversation: anna}, <-a, "a delivery report shows in the transcript")
	ids = k.say(shopA, ben, "1")
	require.Equal(k, store.Change{Shop: shopA, Conversation: ben}, <-a)
	k.claim(1)
	k.settle(store.Result{Shop: shopA, Line: ids[0], Kind: store.Sent})
	require.Equal(k, store.Change{Shop: shopA, Conversation: ben}, <-a)
	stale := k.turn(shopA, anna)
	stale.State.Version = 0
	require.ErrorIs(k, k.s.Commit(k.ctx, stale), store.ErrConflict)
	k.say(shopB, cleo, "1")
	require.Equal(k, store.Change{Shop: shopB, Conversation: cleo}, <-b)
	require.Empty(k, a, "neither a turn that was refused nor another shop's is told")
}

func slowReader(k *kit) {
	changes := k.s.Watch(k.ctx, shopA)
	for range 2000 {
		k.commit(k.turn(shopA, anna))
	}
	k.commit(k.turn(shopA, ben))
	readAll, last := false, false
	for !readAll && !last {
		c := <-changes
		readAll = c == store.Change{Shop: shopA}
		last = c.Conversation == ben
	}
	require.True(k, readAll || last, "nothing that changed goes untold")
}

func watchEnds(k *kit) {
	ctx, cancel := context.WithCancel(k.ctx)
	changes := k.s.Watch(ctx, shopA)
	cancel()
	for range changes { // ends when the channel is closed
	}
	k.say(shopA, anna, "1")
	_, open := <-k.s.Watch(ctx, shopA)
	require.False(k, open)
}

func closeEndsWatches(k *kit) {
	changes := k.s.Watch(k.ctx, shopA)
	require.NoError(k, k.s.Close())
	for range changes {
	}
	_, open := <-k.s.Watch(k.ctx, shopA)
	require.False(k, open)
}
