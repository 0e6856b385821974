package storetest

import (
	"fmt"
	"strings"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

func rightsCases() []promise {
	return []promise{
		{"an erased conversation is gone in every respect", "EraseConversation removes a conversation with everything kept of it", erasedIsGone},
		{"erasing leaves the others alone", "all or nothing: what is not the conversation's stays", erasingLeavesOthers},
		{"erasing needs the version that was read", "ErrConflict when another is there, ErrNotFound when there is none", erasingNeedsVersion},
		{"an erased owner may begin anew", "an event that is repeated all the same begins anew", erasedBeginsAnew},
		{"old lines are trimmed", "TrimTranscripts drops lines said before a time", oldLinesTrimmed},
		{"a whole transcript is trimmed", "TrimTranscripts drops lines said before a time", wholeTranscriptTrimmed},
		{"what waits is not trimmed", "as far as nothing waits to be sent before them", waitingIsNotTrimmed},
		{"old closed handovers are trimmed", "TrimHandovers drops up to n handovers that were closed before a time", closedTrimmed},
		{"conversations are listed", "Listed lists a shop's conversations, those changed first first", conversationsListed},
	}
}

// full commits a conversation that has something of everything, and returns its text.
func (k *kit) full(shop, address, secret string) {
	k.Helper()
	k.say(shop, address, secret+" one", secret+" two")
	k.remind(shop, address, k.now.Add(time.Hour))
	t := k.turn(shop, address)
	t.State.Owner.Addresses = []string{address, secret + "@owner.example"}
	open := conversation.Handover{ID: address + ".5", Severity: "emergency", Cause: secret, Opened: k.now}
	closed := conversation.Handover{ID: address + ".b", Severity: "technician", Cause: secret, Opened: k.now, Closed: k.now}
	t.Effects.Handovers = []conversation.Handover{open, closed}
	t.Effects.Log = []conversation.LogEntry{{ID: k.id("entry"), Kind: "state", Text: secret}}
	t.Effects.Lines = []conversation.Line{{ID: address + ".c", At: k.now, Direction: conversation.Note, Text: secret}}
	k.commit(t)
}

// erase erases a conversation as it is.
func (k *kit) erase(shop, id string) store.Erased {
	k.Helper()
	gone, err := k.s.EraseConversation(k.ctx, shop, id, k.load(shop, id).Version)
	require.NoError(k, err)
	return gone
}

func erasedIsGone(k *kit) {
	k.full(shopA, anna, "secret")
	turns := k.counts(shopA).Turns
	ids := k.claim(1)
	require.Len(k, ids, 1)
	require.Equal(k, store.Erased{Lines: 3, Entries: 1, Handovers: 2, Reminders: 1}, k.erase(shopA, anna))
	require.Equal(k, store.Counts{Turns: turns}, k.counts(shopA))
	for _, address := range []string{anna, "secret@owner.example"} {
		_, err := k.s.Load(k.ctx, shopA, address)
		require.ErrorIs(k, err, store.ErrNotFound)
	}
	_, err := k.view(shopA).Conversation(anna)
	require.ErrorIs(k, err, store.ErrNotFound)
	cards, err := k.view(shopA).Board(10)
	require.NoError(k, err)
	require.Empty(k, cards)
	require.Empty(k, k.said(shopA, anna))
	require.Empty(k, k.pending(shopA, anna))
	log, err := k.view(shopA).Log(anna, 10)
	require.NoError(k, err)
	require.Empty(k, log)
	for _, closed := range []bool{false, true} {
		list, err := k.view(shopA).Handovers(closed, 10)
		require.NoError(k, err)
		require.Empty(k, list)
	}
	k.now = k.now.Add(24 * time.Hour)
	require.Empty(k, k.claim(10))
	require.Empty(k, k.due(10))
	_, pending, err := k.s.NextDue(k.ctx)
	require.NoError(k, err)
	require.False(k, pending)
	k.settle(store.Result{Shop: shopA, Line: ids[0], Kind: store.Sent}) // an attempt under way ends
	require.ErrorIs(k, k.s.Delivered(k.ctx, shopA, ids[0], "delivered"), store.ErrNotFound)
	require.Equal(k, store.Counts{Turns: turns}, k.counts(shopA))
}

func erasingLeavesOthers(k *kit) {
	for _, who := range []string{anna, anna + ".1", ben} { // an id that looks like one of anna's
		k.full(shopA, who, "of "+strings.ReplaceAll(who, "+", ""))
	}
	k.full(shopB, anna, "elsewhere")
	before, elsewhere := k.counts(shopA), k.counts(shopB)
	k.erase(shopA, anna)
	after := k.counts(shopA)
	require.Equal(k, store.Counts{
		Conversations: before.Conversations - 1, Turns: before.Turns,
		Outbox: before.Outbox - 2, Reminders: before.Reminders - 1, Handovers: before.Handovers - 1,
	}, after)
	require.Equal(k, elsewhere, k.counts(shopB))
	for _, who := range []string{anna + ".1", ben} {
		require.Len(k, k.said(shopA, who), 3, who)
		require.Len(k, k.pending(shopA, who), 1, who)
	}
	require.Len(k, k.said(shopB, anna), 3)
	list, err := k.view(shopA).Handovers(false, 10)
	require.NoError(k, err)
	require.Len(k, list, 2)
	require.Len(k, k.claim(10), 3, "the first of each of the queues left")
}

func erasingNeedsVersion(k *kit) {
	k.full(shopA, anna, "kept")
	c := k.load(shopA, anna)
	for _, version := range []int64{0, c.Version - 1, c.Version + 1} {
		_, err := k.s.EraseConversation(k.ctx, shopA, anna, version)
		require.ErrorIs(k, err, store.ErrConflict)
	}
	_, err := k.s.EraseConversation(k.ctx, shopA, ben, 0)
	require.ErrorIs(k, err, store.ErrNotFound)
	_, err = k.s.EraseConversation(k.ctx, "no such shop", anna, 0)
	require.ErrorIs(k, err, store.ErrNotFound)
	require.Len(k, k.said(shopA, anna), 3)
	k.erase(shopA, anna)
	_, err = k.s.EraseConversation(k.ctx, shopA, anna, c.Version)
	require.ErrorIs(k, err, store.ErrNotFound)
	late := store.Turn{Shop: shopA, Event: k.id("event"), Now: k.now, State: c}
	require.ErrorIs(k, k.s.Commit(k.ctx, late), store.ErrConflict, "a turn decided on what is gone writes nothing")
}

func erasedBeginsAnew(k *kit) {
	k.full(shopA, anna, "first life")
	k.erase(shopA, anna)
	k.say(shopA, anna, "second life")
	require.Equal(k, int64(1), k.load(shopA, anna).Version)
	require.Equal(k, []string{"second life"}, k.said(shopA, anna))
	require.Equal(k, int64(1), k.counts(shopA).Conversations)
	cards, err := k.view(shopA).Board(10)
	require.NoError(k, err)
	require.Len(k, cards, 1)
	require.Equal(k, "second life", cards[0].Last.Text)
	require.Len(k, k.claim(10), 1)
}

// trim trims all of a shop, a few records at a time.
func (k *kit) trim(shop string, before time.Time) (gone int) {
	k.Helper()
	for after, step := "", 0; ; step++ {
		require.Less(k, step, 1000, "it comes to an end")
		n, next, err := k.s.TrimTranscripts(k.ctx, shop, before, after, 3)
		require.NoError(k, err)
		gone += n
		if after = next; after == "" {
			return gone
		}
	}
}

// sayAndSend says texts that have gone out.
func (k *kit) sayAndSend(shop, address string, texts ...string) {
	k.Helper()
	for _, id := range k.say(shop, address, texts...) {
		k.settle(store.Result{Shop: shop, Line: id, Kind: store.Sent})
	}
}

func oldLinesTrimmed(k *kit) {
	begin := k.now
	for i := range 4 {
		k.now = begin.Add(time.Duration(i) * 24 * time.Hour)
		for _, who := range []string{anna, ben} {
			k.sayAndSend(shopA, who, fmt.Sprint(i, "a"), fmt.Sprint(i, "b"))
		}
		k.sayAndSend(shopB, anna, fmt.Sprint(i))
	}
	require.Zero(k, k.trim(shopA, begin), "said at the time, not before it")
	require.Equal(k, 8, k.trim(shopA, begin.Add(36*time.Hour)))
	require.Zero(k, k.trim(shopA, begin.Add(36*time.Hour)))
	want := []string{"2a", "2b", "3a", "3b"}
	require.Equal(k, want, k.said(shopA, anna))
	require.Equal(k, want, k.said(shopA, ben))
	require.Equal(k, []string{"0", "1", "2", "3"}, k.said(shopB, anna))
	k.sayAndSend(shopA, anna, "4")
	require.Equal(k, append(want, "4"), k.said(shopA, anna))
	require.Zero(k, k.trim("no such shop", k.now))
}

func wholeTranscriptTrimmed(k *kit) {
	k.sayAndSend(shopA, anna, "old")
	k.now = k.now.Add(48 * time.Hour)
	require.Equal(k, 1, k.trim(shopA, k.now))
	require.Empty(k, k.said(shopA, anna))
	cards, err := k.view(shopA).Board(10)
	require.NoError(k, err)
	require.Len(k, cards, 1, "the conversation stays")
	require.Zero(k, cards[0].Last)
	k.say(shopA, ben, "another's")
	k.say(shopA, anna, "new")
	require.Equal(k, []string{"new"}, k.said(shopA, anna))
	require.Equal(k, []string{"another's"}, k.said(shopA, ben))
}

func waitingIsNotTrimmed(k *kit) {
	k.sayAndSend(shopA, anna, "sent")
	waits := k.say(shopA, anna, "waits")
	k.now = k.now.Add(time.Minute)
	require.Equal(k, 1, k.trim(shopA, k.now))
	k.say(shopA, anna, "waits too")
	require.Equal(k, waits, k.claim(10))
	k.settle(store.Result{Shop: shopA, Line: waits[0], Kind: store.Sent})
	require.Equal(k, []string{"sent", "queued"}, k.delivery(shopA, anna))
	require.Len(k, k.claim(10), 1)
	require.NoError(k, k.s.Delivered(k.ctx, shopA, waits[0], "delivered"))
	require.Equal(k, []string{"delivered", "queued"}, k.delivery(shopA, anna))
}

func closedTrimmed(k *kit) {
	t := k.turn(shopA, anna)
	for i := range 6 {
		h := conversation.Handover{ID: fmt.Sprint(anna, ".", i), Severity: "technician", Opened: k.now}
		if i < 5 {
			h.Closed = k.now.Add(time.Duration(i) * time.Hour)
		}
		t.Effects.Handovers = append(t.Effects.Handovers, h)
	}
	k.commit(t)
	trim := func(n int) int {
		gone, err := k.s.TrimHandovers(k.ctx, shopA, k.now.Add(3*time.Hour), n)
		require.NoError(k, err)
		return gone
	}
	require.Equal(k, []int{2, 1, 0, 0}, []int{trim(2), trim(2), trim(2), trim(0)})
	closed, err := k.view(shopA).Handovers(true, 10)
	require.NoError(k, err)
	require.Len(k, closed, 2, "closed at the time and later")
	open, err := k.view(shopA).Handovers(false, 10)
	require.NoError(k, err)
	require.Len(k, open, 1)
	require.Equal(k, int64(1), k.counts(shopA).Handovers)
}

func conversationsListed(k *kit) {
	for i, who := range []string{anna, ben, cleo, anna} {
		k.now = noon.Add(time.Duration(i) * time.Minute)
		k.say(shopA, who, "hi")
	}
	list, err := k.s.Listed(k.ctx, shopA, 0, 10)
	require.NoError(k, err)
	require.Equal(k, []store.Listed{
		{ID: ben, Changed: noon.Add(time.Minute)}, {ID: cleo, Changed: noon.Add(2 * time.Minute)}, {ID: anna, Changed: noon.Add(3 * time.Minute)},
	}, list)
	list, err = k.s.Listed(k.ctx, shopA, 1, 1)
	require.NoError(k, err)
	require.Len(k, list, 1)
	require.Equal(k, cleo, list[0].ID)
}

func erasedForGood(k *kit, f Features) {
	k.full(shopA, anna, "secret")
	k.full(shopA, ben, "kept")
	k.erase(shopA, anna)
	want := k.counts(shopA)
	k.s = f.Reopen(k, k.s)
	_, err := k.s.Load(k.ctx, shopA, anna)
	require.ErrorIs(k, err, store.ErrNotFound)
	require.Empty(k, k.said(shopA, anna))
	require.Equal(k, want, k.counts(shopA))
	k.say(shopA, cleo, "new")
	require.Equal(k, []string{"new"}, k.said(shopA, cleo))
	require.Len(k, k.said(shopA, ben), 3)
	k.say(shopA, anna, "anew")
	require.Equal(k, []string{"anew"}, k.said(shopA, anna))
}
