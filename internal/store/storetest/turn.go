package storetest

import (
	"context"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

func turnCases() []promise {
	return []promise{
		{"an unknown address is not found", "Load: ErrNotFound when no conversation owns the address", unknownAddress},
		{"a state comes back as it went in", "Load returns the conversation that owns the address; the stored version becomes State.Version+1", roundTrip},
		{"an event is handled once", "ErrDuplicate when the mark was committed before; it writes nothing", handledOnce},
		{"a mark is looked at before the version", "ErrDuplicate when the mark was committed before (checked first)", markFirst},
		{"an old version conflicts", "ErrConflict when the stored version is not State.Version; it writes nothing", oldVersion},
		{"a conflict leaves no mark", "all or nothing: a turn that conflicted can be decided again under the same event", conflictLeavesNoMark},
		{"imports have no mark", "Event is \"\" only in imports, which have none", importsHaveNoMark},
		{"marks are kept 72 hours", "Marks are kept for at least 72 hours", marksKept},
		{"several addresses, one conversation", "Every address of the owner leads to the conversation from then on", severalAddresses},
		{"an address that is named no more still leads there", "Every address of the owner leads to the conversation from then on", addressStays},
		{"marks go with the address", "its mark is known there, and where its address has moved to", marksMove},
		{"an address can move", "Every address of the owner leads to the conversation from then on: the last turn that names it wins", addressMoves},
		{"shops are apart", "A shop never sees another shop's records: every id is scoped by its shop", shopsApart},
		{"the store shares no memory", "what a caller does with its records later changes nothing in the store", sharesNoMemory},
		{"a turn that cannot be stored is refused whole", "all or nothing, also where the turn itself is wrong", refusedWhole},
		{"an ended context writes nothing", "a context that has ended writes nothing", endedContext},
	}
}

func unknownAddress(k *kit) {
	_, err := k.s.Load(k.ctx, shopA, anna)
	require.ErrorIs(k, err, store.ErrNotFound)
	k.say(shopA, ben, "hello")
	_, err = k.s.Load(k.ctx, shopA, anna)
	require.ErrorIs(k, err, store.ErrNotFound)
}

func roundTrip(k *kit) {
	t := k.turn(shopA, anna)
	k.commit(t)
	want := t.State
	want.Version = 1
	require.Equal(k, want, k.load(shopA, anna))
	got, err := k.view(shopA).Conversation(anna)
	require.NoError(k, err)
	require.Equal(k, want, got)

	t = k.turn(shopA, anna)
	t.State.Service.State = "wipe"
	t.State.Misses = 2
	k.commit(t)
	want = t.State
	want.Version = 2
	require.Equal(k, want, k.load(shopA, anna))
}

func handledOnce(k *kit) {
	first := k.turn(shopA, anna)
	first.Effects.Lines = []conversation.Line{k.line(first, "one")}
	k.commit(first)
	again := k.turn(shopA, anna)
	again.Event = first.Event
	again.State.Misses = 9
	again.Effects.Lines = []conversation.Line{k.line(again, "two")}
	again.Effects.Remind = []conversation.Reminder{{ID: "r", Due: k.now}}
	require.ErrorIs(k, k.s.Commit(k.ctx, again), store.ErrDuplicate)
	require.Equal(k, int64(1), k.load(shopA, anna).Version)
	require.Zero(k, k.load(shopA, anna).Misses)
	require.Equal(k, []string{"one"}, k.said(shopA, anna))
	require.Empty(k, k.pending(shopA, anna))
	require.Equal(k, store.Counts{Conversations: 1, Turns: 1, Outbox: 1}, k.counts(shopA))
}

func markFirst(k *kit) {
	first := k.turn(shopA, anna)
	k.commit(first)
	require.ErrorIs(k, k.s.Commit(k.ctx, first), store.ErrDuplicate, "same version as before, so it conflicts too")
}

func oldVersion(k *kit) {
	stale := k.turn(shopA, anna)
	k.say(shopA, anna, "one")
	stale.Effects.Lines = []conversation.Line{k.line(stale, "stale")}
	stale.Effects.Log = []conversation.LogEntry{{ID: "e", Kind: "state"}}
	require.ErrorIs(k, k.s.Commit(k.ctx, stale), store.ErrConflict)
	require.Equal(k, []string{"one"}, k.said(shopA, anna))
	require.Equal(k, int64(1), k.counts(shopA).Turns)

	ahead := k.turn(shopA, anna)
	ahead.State.Version = 7
	require.ErrorIs(k, k.s.Commit(k.ctx, ahead), store.ErrConflict)
	fresh := k.turn(shopA, ben)
	fresh.State.Version = 1
	require.ErrorIs(k, k.s.Commit(k.ctx, fresh), store.ErrConflict, "there is no version 1 to follow")
	_, err := k.s.Load(k.ctx, shopA, ben)
	require.ErrorIs(k, err, store.ErrNotFound)
}

func conflictLeavesNoMark(k *kit) {
	stale := k.turn(shopA, anna)
	k.say(shopA, anna, "one")
	require.ErrorIs(k, k.s.Commit(k.ctx, stale), store.ErrConflict)
	again := k.turn(shopA, anna)
	again.Event = stale.Event
	k.commit(again)
	require.Equal(k, int64(2), k.load(shopA, anna).Version)
}

func importsHaveNoMark(k *kit) {
	for range 3 {
		t := k.turn(shopA, anna)
		t.Event = ""
		t.Effects.Lines = []conversation.Line{{ID: k.id("line"), Direction: conversation.Out, Text: "long ago", Send: true, Delivery: "delivered"}}
		k.commit(t)
	}
	require.Equal(k, int64(3), k.load(shopA, anna).Version)
	require.Empty(k, k.claim(10), "what was delivered long ago is not sent again")
	require.Equal(k, []string{"delivered", "delivered", "delivered"}, k.delivery(shopA, anna))
}

func marksKept(k *kit) {
	first := k.turn(shopA, anna)
	k.commit(first)
	for hour := 1; hour <= 72; hour++ {
		k.now = noon.Add(time.Duration(hour) * time.Hour)
		k.commit(k.turn(shopA, ben))
		again := k.turn(shopA, anna)
		again.Event = first.Event
		require.ErrorIs(k, k.s.Commit(k.ctx, again), store.ErrDuplicate, "after %d hours", hour)
	}
}

func severalAddresses(k *kit) {
	t := k.turn(shopA, anna)
	t.State.Owner.Addresses = []string{anna, "anna@owner.example"}
	k.commit(t)
	require.Equal(k, anna, k.load(shopA, "anna@owner.example").ID)
	t = k.turn(shopA, "anna@owner.example")
	t.State.Owner.Addresses = append(t.State.Owner.Addresses, cleo)
	k.commit(t)
	for _, a := range []string{anna, "anna@owner.example", cleo} {
		require.Equal(k, int64(2), k.load(shopA, a).Version)
		require.Equal(k, anna, k.load(shopA, a).ID)
	}
}

func addressStays(k *kit) {
	t := k.turn(shopA, anna)
	t.State.Owner.Addresses = []string{anna, ben}
	k.commit(t)
	for range 2 {
		t = k.turn(shopA, anna)
		t.State.Owner.Addresses = []string{anna}
		k.commit(t)
		require.Equal(k, k.load(shopA, anna), k.load(shopA, ben))
	}
}

func addressMoves(k *kit) {
	a, b := k.turn(shopA, anna), k.turn(shopA, ben)
	k.commit(a)
	b.State.Owner.Addresses = []string{ben, anna}
	k.commit(b)
	require.Equal(k, ben, k.load(shopA, anna).ID)
	a.Event, a.State.Version = k.id("event"), 1
	k.commit(a)
	require.Equal(k, anna, k.load(shopA, anna).ID, "her own turn names her address again")
	require.Equal(k, ben, k.load(shopA, ben).ID)
}

func marksMove(k *kit) {
	first := k.turn(shopA, anna)
	k.commit(first)
	taking := k.turn(shopA, ben)
	taking.State.Owner.Addresses = []string{ben, anna}
	k.commit(taking)
	again := k.turn(shopA, anna) // the gateway repeats her text, and it leads to him now
	again.Event = first.Event
	require.Equal(k, ben, again.State.ID)
	require.ErrorIs(k, k.s.Commit(k.ctx, again), store.ErrDuplicate)
}

func shopsApart(k *kit) {
	t := k.turn(shopA, anna)
	t.Effects = conversation.Effects{
		Lines:     []conversation.Line{{ID: "l", Direction: conversation.Out, Text: "of A", Send: true}},
		Remind:    []conversation.Reminder{{ID: "r", Due: k.now}},
		Handovers: []conversation.Handover{{ID: "h", Severity: "emergency", Opened: k.now}},
		Log:       []conversation.LogEntry{{ID: "e", Kind: "state"}},
	}
	k.commit(t)
	_, err := k.s.Load(k.ctx, shopB, anna)
	require.ErrorIs(k, err, store.ErrNotFound)
	require.Zero(k, k.counts(shopB))
	require.Empty(k, k.said(shopB, anna))

	t.Shop, t.State.Shop = shopB, shopB
	t.Effects.Lines[0].Text = "of B"
	k.commit(t)
	require.Equal(k, []string{"of A"}, k.said(shopA, anna))
	require.Equal(k, []string{"of B"}, k.said(shopB, anna))
	require.NoError(k, k.s.Delivered(k.ctx, shopB, "l", "failed"))
	require.Equal(k, []string{"queued"}, k.delivery(shopA, anna))

	done := k.turn(shopB, anna)
	done.Event = "r"
	k.commit(done)
	require.Equal(k, []string{"r"}, k.pending(shopA, anna))
	require.Empty(k, k.pending(shopB, anna))
	out, err := k.s.ClaimDue(k.ctx, k.now, time.Minute, 10)
	require.NoError(k, err)
	require.Len(k, out, 1)
	require.Equal(k, shopA, out[0].Shop)
}

func sharesNoMemory(k *kit) {
	t := k.turn(shopA, anna)
	t.Effects.Log = []conversation.LogEntry{{ID: "e", Kind: "advised", Dose: &conversation.Dose{Spoons: 3}}}
	t.Effects.Lines = []conversation.Line{k.line(t, "as said")}
	k.commit(t)
	t.State.Service.Facts["filters"] = "changed"
	t.State.Owner.Addresses[0] = ben
	t.Effects.Log[0].Dose.Spoons = 99
	t.Effects.Lines[0].Text = "changed"
	got := k.load(shopA, anna)
	require.Equal(k, "in_the_water", got.Service.Facts["filters"])
	got.Tub.JarSpoons["Line Flush"] = 0
	require.Equal(k, 9.0, k.load(shopA, anna).Tub.JarSpoons["Line Flush"])
	require.Equal(k, []string{"as said"}, k.said(shopA, anna))
	for range 2 {
		entries, err := k.view(shopA).Log(anna, 10)
		require.NoError(k, err)
		require.Equal(k, 3.0, entries[0].Dose.Spoons)
		entries[0].Dose.Spoons = 5
	}
}

func refusedWhole(k *kit) {
	k.say(shopA, anna, "one")
	wrong := map[string]func(t *store.Turn){
		"no shop":              func(t *store.Turn) { t.Shop = "" },
		"another shop's state": func(t *store.Turn) { t.State.Shop = shopB },
		"no id":                func(t *store.Turn) { t.State.ID = "" },
		"no address":           func(t *store.Turn) { t.State.Owner.Addresses = nil },
		"a line without id":    func(t *store.Turn) { t.Effects.Lines = []conversation.Line{{Text: "x"}} },
		"a line twice": func(t *store.Turn) {
			l := k.line(*t, "x")
			t.Effects.Lines = []conversation.Line{l, l}
		},
		"another conversation's reminder": func(t *store.Turn) {
			t.Effects.Remind = []conversation.Reminder{{ID: "r", Conversation: ben, Due: k.now}}
		},
		"a number that JSON has no word for": func(t *store.Turn) { t.State.Tub.HoseGPM = nan() },
	}
	for name, spoil := range wrong {
		t := k.turn(shopA, anna)
		spoil(&t)
		err := k.s.Commit(k.ctx, t)
		require.Error(k, err, name)
		require.NotErrorIs(k, err, store.ErrConflict, name)
		require.NotErrorIs(k, err, store.ErrDuplicate, name)
		require.Equal(k, int64(1), k.load(shopA, anna).Version, name)
		require.Equal(k, []string{"one"}, k.said(shopA, anna), name)
		if t.Shop != "" && t.State.Shop == shopA && t.State.ID != "" {
			good := k.turn(shopA, ben)
			good.Event = t.Event
			k.commit(good) // the mark was not left behind
		}
	}
}

func endedContext(k *kit) {
	t := k.turn(shopA, anna)
	ctx, cancel := context.WithCancel(k.ctx)
	cancel()
	require.ErrorIs(k, k.s.Commit(ctx, t), context.Canceled)
	_, err := k.s.Load(ctx, shopA, anna)
	require.ErrorIs(k, err, context.Canceled)
	_, err = k.s.ClaimOutbox(ctx, k.now, time.Minute, 1)
	require.ErrorIs(k, err, context.Canceled)
	_, err = k.s.View(ctx, shopA).Board(10)
	require.ErrorIs(k, err, context.Canceled)
	_, err = k.s.Load(k.ctx, shopA, anna)
	require.ErrorIs(k, err, store.ErrNotFound)
}
