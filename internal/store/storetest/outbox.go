package storetest

import (
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

func outboxCases() []promise {
	return []promise{
		{"one message of a queue at a time", "given out is at most one of a queue, its oldest that is neither sent, failed nor dropped", oneAtATime},
		{"oldest first", "ClaimOutbox leases up to n messages, oldest first", oldestFirst},
		{"a lease holds the queue", "While a lease runs no other message of that queue is given out", leaseHolds},
		{"recipients don't wait for each other", "the queues of a conversation don't wait for each other", recipientsApart},
		{"each recipient's order is kept", "At least once, in order per queue", recipientsInOrder},
		{"a lease that ran out is given out again", "a lease that ran out is given out again: at least once", leaseRunsOut},
		{"the message is given whole", "Line.ID is the idempotency key; Attempt is 1 at the first", givenWhole},
		{"a message never tried is always ready", "A message never tried is always ready", alwaysReady},
		{"lines that are not sent stay out", "only lines with Send go to the outbox", unsentStayOut},
		{"what was queued before an opt-out is dropped", "DropUnsent: lines queued before this turn become dropped; the lines of this turn itself go", dropUnsent},
		{"an opt-out drops no page", "DropUnsent drops the lines that waited before this turn, but for pages", dropsNoPage},
	}
}

func oneAtATime(k *kit) {
	ids := k.say(shopA, anna, "1", "2", "3")
	require.Equal(k, ids[:1], k.claim(10))
	k.settle(store.Result{Shop: shopA, Line: ids[0], Kind: store.Sent})
	require.Equal(k, ids[1:2], k.claim(10))
	k.settle(store.Result{Shop: shopA, Line: ids[1], Kind: store.Failed, Why: "unknown number"})
	more := k.say(shopA, anna, "4")
	require.Equal(k, ids[2:3], k.claim(10), "a failed head lets the next one go")
	k.settle(store.Result{Shop: shopA, Line: ids[2], Kind: store.Sent})
	require.Equal(k, more, k.claim(10))
	k.settle(store.Result{Shop: shopA, Line: more[0], Kind: store.Sent})
	require.Empty(k, k.claim(10))
	require.Zero(k, k.counts(shopA).Outbox)
	require.Equal(k, []string{"sent", "failed", "sent", "sent"}, k.delivery(shopA, anna))
}

func oldestFirst(k *kit) {
	var want []string
	for _, who := range []string{cleo, anna, ben} {
		k.now = k.now.Add(time.Second)
		want = append(want, k.say(shopA, who, "hello", "and more")[0])
	}
	require.Equal(k, want[:2], k.claim(2))
	require.Equal(k, want[2:], k.claim(2))
	require.Empty(k, k.claim(0))
}

func leaseHolds(k *kit) {
	ids := k.say(shopA, anna, "1", "2")
	require.Equal(k, ids[:1], k.claim(10))
	require.Empty(k, k.claim(10))
	k.say(shopA, anna, "3")
	k.now = k.now.Add(59 * time.Second)
	require.Empty(k, k.claim(10))
	other := k.say(shopA, ben, "hello")
	require.Equal(k, other, k.claim(10), "another conversation is not held up")
}

func leaseRunsOut(k *kit) {
	ids := k.say(shopA, anna, "1", "2")
	for attempt := 1; attempt <= 3; attempt++ {
		out, err := k.s.ClaimOutbox(k.ctx, k.now, time.Minute, 10)
		require.NoError(k, err)
		require.Len(k, out, 1)
		require.Equal(k, ids[0], out[0].Line.ID)
		require.Equal(k, attempt, out[0].Attempt)
		k.now = k.now.Add(time.Minute)
	}
}

func givenWhole(k *kit) {
	t := k.turn(shopA, anna)
	l := k.line(t, "Is the water up to the jets? ¿Sí?")
	l.By, l.Direction, l.Class = "dana", conversation.Staff, conversation.ClassStaff
	t.Effects.Lines = []conversation.Line{l}
	k.commit(t)
	out, err := k.s.ClaimOutbox(k.ctx, k.now, time.Minute, 10)
	require.NoError(k, err)
	l.Conversation, l.Delivery = anna, "queued"
	require.Equal(k, []store.Outgoing{{Shop: shopA, Line: l, Attempt: 1}}, out)
}

func alwaysReady(k *kit) {
	ids := k.say(shopA, anna, "1")
	k.now = k.now.Add(-3 * time.Hour) // the clock was set back
	require.Equal(k, ids, k.claim(10))
}

func unsentStayOut(k *kit) {
	t := k.turn(shopA, anna)
	t.Effects.Lines = []conversation.Line{
		{ID: "in", Direction: conversation.In, Text: "hi"},
		{ID: "note", Direction: conversation.Note, Text: "volume put right"},
	}
	k.commit(t)
	require.Empty(k, k.claim(10))
	require.Equal(k, []string{"", ""}, k.delivery(shopA, anna))
	require.ErrorIs(k, k.s.Delivered(k.ctx, shopA, "in", "delivered"), store.ErrNotFound)
}

func dropUnsent(k *kit) {
	before := k.say(shopA, anna, "sent", "leased", "waits")
	k.now = k.now.Add(time.Second)
	other := k.say(shopA, ben, "not hers")
	k.claim(1)
	k.settle(store.Result{Shop: shopA, Line: before[0], Kind: store.Sent})
	require.Equal(k, before[1:2], k.claim(1))

	t := k.turn(shopA, anna)
	t.State.OptedOut = true
	t.Effects.DropUnsent = true
	confirm := k.line(t, "You will get no more texts.")
	t.Effects.Lines = []conversation.Line{{ID: "in", Direction: conversation.In, Text: "STOP"}, confirm}
	k.commit(t)
	require.Equal(k, []string{"sent", "dropped", "dropped", "", "queued"}, k.delivery(shopA, anna))
	require.ElementsMatch(k, []string{confirm.ID, other[0]}, k.claim(10))
	require.Equal(k, int64(2), k.counts(shopA).Outbox)

	// The leased one was on its way: what became of it is told, but it is not tried again.
	k.settle(store.Result{Shop: shopA, Line: before[1], Kind: store.Retry, Next: k.now})
	require.Empty(k, k.claim(10))
	require.Equal(k, "dropped", k.delivery(shopA, anna)[1])
	k.settle(store.Result{Shop: shopA, Line: before[1], Kind: store.Sent})
	require.Equal(k, "sent", k.delivery(shopA, anna)[1])
	k.settle(store.Result{Shop: shopA, Line: before[2], Kind: store.Failed})
	require.Equal(k, "dropped", k.delivery(shopA, anna)[2])
	require.Equal(k, int64(2), k.counts(shopA).Outbox)
}

// dana is a member of staff who is paged.
const dana = "+15415550111"

// page is a line of a turn that calls a member of staff.
func (k *kit) page(t store.Turn, text string) conversation.Line {
	l := k.line(t, text)
	l.Direction, l.Class, l.To, l.By = conversation.Page, conversation.ClassPage, dana, "dana"
	return l
}

// lines commits a turn with these lines and returns their ids.
func (k *kit) lines(t store.Turn, lines ...conversation.Line) (ids []string) {
	k.Helper()
	t.Effects.Lines = lines
	k.commit(t)
	for _, l := range lines {
		ids = append(ids, l.ID)
	}
	return ids
}

func recipientsApart(k *kit) {
	text := k.say(shopA, anna, "1")
	require.Equal(k, text, k.claim(10))
	k.settle(store.Result{Shop: shopA, Line: text[0], Kind: store.Retry, Next: k.now.Add(5 * time.Minute), Why: "busy"})
	k.now = k.now.Add(time.Second)
	t := k.turn(shopA, anna)
	page := k.lines(t, k.line(t, "2"), k.page(t, "come quickly"))[1:]
	at, ok, err := k.s.NextDue(k.ctx)
	require.NoError(k, err)
	require.True(k, ok)
	require.False(k, at.After(k.now))
	require.Equal(k, page, k.claim(10), "at once, whatever holds the owner's texts up")
	require.Empty(k, k.claim(10), "under its lease, and the owner's wait for their time")
	k.settle(store.Result{Shop: shopA, Line: page[0], Kind: store.Sent})
	require.Equal(k, []string{"queued", "queued", "sent"}, k.delivery(shopA, anna))
	k.now = k.now.Add(5 * time.Minute)
	require.Equal(k, text, k.claim(10))
}

func recipientsInOrder(k *kit) {
	t := k.turn(shopA, anna)
	ids := k.lines(t, k.line(t, "1"), k.page(t, "p1"), k.line(t, "2"), k.page(t, "p2"))
	require.Equal(k, ids[:2], k.claim(10))
	k.settle(store.Result{Shop: shopA, Line: ids[1], Kind: store.Retry, Next: k.now.Add(time.Hour)},
		store.Result{Shop: shopA, Line: ids[0], Kind: store.Sent})
	require.Equal(k, ids[2:3], k.claim(10), "the second page waits behind the first")
	require.NoError(k, k.s.Delivered(k.ctx, shopA, ids[1], "delivered"))
	require.Equal(k, ids[3:], k.claim(10))
	k.settle(store.Result{Shop: shopA, Line: ids[2], Kind: store.Failed}, store.Result{Shop: shopA, Line: ids[3], Kind: store.Sent})
	require.Empty(k, k.claim(10))
	require.Zero(k, k.counts(shopA).Outbox)
}

func dropsNoPage(k *kit) {
	t := k.turn(shopA, anna)
	text, page := k.line(t, "hold on"), k.page(t, "call her")
	other := k.page(t, "to a number that is hers too")
	other.To = text.To
	ids := k.lines(t, text, page, other)
	require.Equal(k, ids[:2], k.claim(10))
	k.settle(store.Result{Shop: shopA, Line: page.ID, Kind: store.Retry, Next: k.now.Add(time.Minute)})
	t = k.turn(shopA, anna)
	t.Effects.DropUnsent = true
	k.commit(t)
	require.Equal(k, []string{"dropped", "queued", "queued"}, k.delivery(shopA, anna))
	require.Equal(k, int64(2), k.counts(shopA).Outbox)
	require.Equal(k, ids[2:], k.claim(10))
	k.now = k.now.Add(time.Minute)
	require.ElementsMatch(k, ids[1:], k.claim(10), "each again, its time or the end of its lease")
}
