package storetest

import (
	"math"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/store"
)

func nan() float64 { return math.NaN() }

func settleCases() []promise {
	return []promise{
		{"a retry waits for its time", "A retry becomes ready at its Next", retryWaits},
		{"fresh messages go before retries", "A message never tried goes before retries, whose age counts from their Next", freshBeforeRetries},
		{"results are one step", "SettleOutbox records how attempts ended, all in one step", oneStep},
		{"settling twice changes nothing", "A line that has left the outbox already is passed over", settleTwice},
		{"delivery moves forward only", "the line's delivery state moves forward only", forwardOnly},
		{"a report on a line that is not there", "ErrNotFound for a line that is not there", noSuchLine},
		{"a line reported on is not sent again", "A line that was reported on leaves the outbox", reportedLeaves},
	}
}

func retryWaits(k *kit) {
	ids := k.say(shopA, anna, "1", "2")
	k.claim(1)
	k.settle(store.Result{Shop: shopA, Line: ids[0], Kind: store.Retry, Next: k.now.Add(10 * time.Second), Why: "busy"})
	require.Equal(k, []string{"queued", "queued"}, k.delivery(shopA, anna))
	at, ok, err := k.s.NextDue(k.ctx)
	require.NoError(k, err)
	require.True(k, ok)
	require.Equal(k, k.now.Add(10*time.Second), at)
	k.now = k.now.Add(9999 * time.Millisecond)
	require.Empty(k, k.claim(10), "neither it nor what comes after it")
	k.now = k.now.Add(time.Millisecond)
	out, err := k.s.ClaimOutbox(k.ctx, k.now, time.Minute, 10)
	require.NoError(k, err)
	require.Len(k, out, 1)
	require.Equal(k, ids[0], out[0].Line.ID)
	require.Equal(k, 2, out[0].Attempt)
	k.settle(store.Result{Shop: shopA, Line: ids[0], Kind: store.Sent})
	out, err = k.s.ClaimOutbox(k.ctx, k.now, time.Minute, 10)
	require.NoError(k, err)
	require.Len(k, out, 1)
	require.Equal(k, 1, out[0].Attempt)
}

func freshBeforeRetries(k *kit) {
	a := k.say(shopA, anna, "1")
	b := k.say(shopA, ben, "1")
	k.claim(10)
	k.settle(store.Result{Shop: shopA, Line: a[0], Kind: store.Retry, Next: k.now.Add(2 * time.Second)},
		store.Result{Shop: shopA, Line: b[0], Kind: store.Retry, Next: k.now.Add(time.Second)})
	k.now = k.now.Add(time.Hour)
	c := k.say(shopA, cleo, "1")
	require.Equal(k, []string{c[0], b[0], a[0]}, k.claim(10))
}

func oneStep(k *kit) {
	a, b := k.say(shopA, anna, "1"), k.say(shopA, ben, "1")
	k.claim(10)
	err := k.s.SettleOutbox(k.ctx, []store.Result{
		{Shop: shopA, Line: a[0], Kind: store.Sent}, {Shop: shopA, Line: b[0], Kind: "lost"},
	})
	require.ErrorContains(k, err, "lost")
	require.Equal(k, []string{"queued"}, k.delivery(shopA, anna))
	k.settle()
	k.settle(store.Result{Shop: shopA, Line: a[0], Kind: store.Sent}, store.Result{Shop: shopA, Line: b[0], Kind: store.Failed})
	require.Equal(k, []string{"sent"}, k.delivery(shopA, anna))
	require.Equal(k, []string{"failed"}, k.delivery(shopA, ben))
	require.Zero(k, k.counts(shopA).Outbox)
}

func settleTwice(k *kit) {
	ids := k.say(shopA, anna, "1", "2")
	k.claim(10)
	for range 2 {
		k.settle(store.Result{Shop: shopA, Line: ids[0], Kind: store.Sent})
	}
	k.settle(store.Result{Shop: shopA, Line: ids[0], Kind: store.Retry, Next: k.now})
	k.settle(store.Result{Shop: shopA, Line: ids[0], Kind: store.Failed})
	k.settle(store.Result{Shop: shopA, Line: "never said", Kind: store.Sent}, store.Result{Shop: "no shop", Line: ids[0], Kind: store.Sent})
	require.Equal(k, []string{"sent", "queued"}, k.delivery(shopA, anna))
	require.Equal(k, int64(1), k.counts(shopA).Outbox)
	require.Equal(k, ids[1:], k.claim(10))
}

func forwardOnly(k *kit) {
	ids := k.say(shopA, anna, "1", "2")
	k.claim(1)
	k.settle(store.Result{Shop: shopA, Line: ids[0], Kind: store.Sent})
	for _, step := range []struct{ report, want string }{
		{"sent", "sent"}, {"delivered", "delivered"}, {"sent", "delivered"}, {"failed", "delivered"}, {"delivered", "delivered"},
	} {
		require.NoError(k, k.s.Delivered(k.ctx, shopA, ids[0], step.report))
		require.Equal(k, step.want, k.delivery(shopA, anna)[0], "after %s", step.report)
	}
	k.claim(1)
	k.settle(store.Result{Shop: shopA, Line: ids[1], Kind: store.Sent})
	require.NoError(k, k.s.Delivered(k.ctx, shopA, ids[1], "failed"))
	require.NoError(k, k.s.Delivered(k.ctx, shopA, ids[1], "delivered"))
	require.Equal(k, "failed", k.delivery(shopA, anna)[1])
	require.Error(k, k.s.Delivered(k.ctx, shopA, ids[1], "read by a duck"))
	require.Error(k, k.s.Delivered(k.ctx, shopA, ids[1], "queued"))
}

func noSuchLine(k *kit) {
	require.ErrorIs(k, k.s.Delivered(k.ctx, shopA, "line-1", "delivered"), store.ErrNotFound)
	ids := k.say(shopA, anna, "1")
	require.ErrorIs(k, k.s.Delivered(k.ctx, shopA, "nobody's", "delivered"), store.ErrNotFound)
	require.ErrorIs(k, k.s.Delivered(k.ctx, shopB, ids[0], "delivered"), store.ErrNotFound)
	require.Equal(k, []string{"queued"}, k.delivery(shopA, anna))
}

func reportedLeaves(k *kit) {
	ids := k.say(shopA, anna, "1", "2", "3")
	k.claim(1) // it went out, and the process died before it could settle
	require.NoError(k, k.s.Delivered(k.ctx, shopA, ids[0], "delivered"))
	k.now = k.now.Add(time.Hour)
	require.Equal(k, ids[1:2], k.claim(10))
	require.Equal(k, int64(2), k.counts(shopA).Outbox)
	k.settle(store.Result{Shop: shopA, Line: ids[0], Kind: store.Sent})
	require.Equal(k, []string{"delivered", "queued", "queued"}, k.delivery(shopA, anna))
}
