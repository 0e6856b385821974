package storetest

import (
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

func dueCases() []promise {
	return []promise{
		{"reminders come when due, earliest first", "ClaimDue leases up to n reminders due at now, earliest first", earliestFirst},
		{"a reminder is given whole", "ClaimDue gives the shop and the reminder", reminderWhole},
		{"a reminder is claimed once per lease", "a lease that ran out is given out again", onceperLease},
		{"a reminder leaves with its turn", "A reminder leaves the store when a turn whose Event is its id is committed", leavesWithTurn},
		{"a refused turn leaves the reminder", "all or nothing: a turn that conflicts keeps its reminder", refusedKeepsReminder},
		{"a cancelled reminder never comes", "A reminder leaves the store when it is cancelled", cancelled},
		{"cancel before set", "what is cancelled goes before what is set", cancelBeforeSet},
		{"the next time is known", "NextDue is when the next reminder or message can be claimed", nextDue},
	}
}

func earliestFirst(k *kit) {
	late := k.remind(shopA, anna, k.now.Add(3*time.Minute))
	soon := k.remind(shopA, anna, k.now.Add(1*time.Minute))
	mid := k.remind(shopB, ben, k.now.Add(2*time.Minute))
	require.Empty(k, k.due(10))
	k.now = k.now.Add(time.Minute - time.Millisecond)
	require.Empty(k, k.due(10))
	k.now = k.now.Add(10 * time.Minute)
	require.Equal(k, []string{soon, mid}, k.due(2))
	require.Equal(k, []string{late}, k.due(2))
	require.Empty(k, k.due(0))
}

func reminderWhole(k *kit) {
	t := k.turn(shopA, anna)
	r := conversation.Reminder{ID: "r", Conversation: anna, Due: k.now.Add(-time.Hour), Name: "nudge:1", Service: "s1", State: "drain"}
	t.Effects.Remind = []conversation.Reminder{r}
	k.commit(t)
	out, err := k.s.ClaimDue(k.ctx, k.now, time.Minute, 10)
	require.NoError(k, err)
	require.Equal(k, []store.Due{{Shop: shopA, Reminder: r}}, out)
	list, err := k.view(shopA).Reminders(anna)
	require.NoError(k, err)
	require.Equal(k, []conversation.Reminder{r}, list, "a lease does not show")
}

func onceperLease(k *kit) {
	id := k.remind(shopA, anna, k.now)
	for range 3 {
		require.Equal(k, []string{id}, k.due(10))
		k.now = k.now.Add(time.Minute - time.Millisecond)
		require.Empty(k, k.due(10))
		k.now = k.now.Add(time.Millisecond)
	}
}

func leavesWithTurn(k *kit) {
	id := k.remind(shopA, anna, k.now)
	require.Equal(k, []string{id}, k.due(10))
	t := k.turn(shopA, anna)
	t.Event = id
	k.commit(t)
	k.now = k.now.Add(time.Hour)
	require.Empty(k, k.due(10))
	require.Empty(k, k.pending(shopA, anna))
	require.Zero(k, k.counts(shopA).Reminders)
	again := k.turn(shopA, anna)
	again.Event = id
	require.ErrorIs(k, k.s.Commit(k.ctx, again), store.ErrDuplicate, "it fires once in effect")
}

func refusedKeepsReminder(k *kit) {
	stale := k.turn(shopA, anna)
	id := k.remind(shopA, anna, k.now)
	stale.Event = id
	stale.Effects.Cancel = []string{id}
	require.ErrorIs(k, k.s.Commit(k.ctx, stale), store.ErrConflict)
	require.Equal(k, []string{id}, k.due(10))
}

func cancelled(k *kit) {
	a, b := k.remind(shopA, anna, k.now), k.remind(shopA, anna, k.now.Add(time.Minute))
	other := k.remind(shopA, ben, k.now)
	require.ElementsMatch(k, []string{a, other}, k.due(10))
	t := k.turn(shopA, anna)
	t.Effects.Cancel = []string{a, b, "never set"}
	k.commit(t)
	require.Equal(k, int64(1), k.counts(shopA).Reminders)
	k.now = k.now.Add(time.Hour)
	require.Equal(k, []string{other}, k.due(10))

	// It was claimed before it was cancelled: its turn still commits, on what is there now.
	t = k.turn(shopA, anna)
	t.Event = a
	k.commit(t)
	require.Equal(k, int64(1), k.counts(shopA).Reminders)
}

func cancelBeforeSet(k *kit) {
	id := k.remind(shopA, anna, k.now.Add(time.Minute))
	t := k.turn(shopA, anna)
	t.Effects.Cancel = []string{id}
	t.Effects.Remind = []conversation.Reminder{{ID: id, Due: k.now.Add(2 * time.Minute)}}
	k.commit(t)
	require.Equal(k, int64(1), k.counts(shopA).Reminders)
	k.now = k.now.Add(time.Minute)
	require.Empty(k, k.due(10))
	k.now = k.now.Add(time.Minute)
	require.Equal(k, []string{id}, k.due(10))

	t = k.turn(shopA, anna)
	t.Effects.Remind = []conversation.Reminder{{ID: id, Due: k.now}}
	k.commit(t)
	require.Equal(k, int64(1), k.counts(shopA).Reminders, "setting it once more moves it")
	require.Equal(k, []string{id}, k.due(10))
}

func nextDue(k *kit) {
	next := func() time.Time {
		k.Helper()
		at, ok, err := k.s.NextDue(k.ctx)
		require.NoError(k, err)
		require.Equal(k, !at.IsZero(), ok)
		return at
	}
	require.Zero(k, next())
	id := k.remind(shopA, anna, k.now.Add(time.Hour))
	require.Equal(k, k.now.Add(time.Hour), next())
	ids := k.say(shopB, ben, "hello")
	require.Equal(k, k.now, next(), "a message is ready since it was queued")
	k.claim(1)
	require.Equal(k, k.now.Add(time.Minute), next(), "the end of its lease")
	k.settle(store.Result{Shop: shopB, Line: ids[0], Kind: store.Retry, Next: k.now.Add(2 * time.Hour)})
	require.Equal(k, k.now.Add(time.Hour), next())
	t := k.turn(shopA, anna)
	t.Effects.Cancel = []string{id}
	k.commit(t)
	require.Equal(k, k.now.Add(2*time.Hour), next())
	require.NoError(k, k.s.Delivered(k.ctx, shopB, ids[0], "failed"))
	require.Zero(k, next())
}
