package storetest

import (
	"fmt"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

func viewCases() []promise {
	return []promise{
		{"an unknown conversation shows nothing", "Conversation: ErrNotFound when there is none; the lists are empty", unknownConversation},
		{"the board", "Board lists conversations, those changed last first, at most limit (1 to 500)", board},
		{"a card", "Card: the last line that was said, not a note; the next reminder; zero when none", cardShows},
		{"the transcript", "Transcript returns up to limit last lines, oldest first", transcript},
		{"the log", "Log returns up to limit last entries of the tub's log, oldest first", tubLog},
		{"open handovers", "Handovers lists those that are open, worst and then oldest first", openHandovers},
		{"closed handovers", "Handovers lists those that are closed, last closed first", closedHandovers},
		{"reminders of a conversation", "Reminders lists what is pending for a conversation, earliest first", remindersListed},
		{"counts", "Counts gives totals: conversations, turns committed, outbox waiting, reminders pending, handovers open", countsAdd},
	}
}

func unknownConversation(k *kit) {
	for range 2 {
		v := k.view(shopA)
		_, err := v.Conversation(anna)
		require.ErrorIs(k, err, store.ErrNotFound)
		require.Empty(k, k.said(shopA, anna))
		entries, err := v.Log(anna, 10)
		require.NoError(k, err)
		require.Empty(k, entries)
		require.Empty(k, k.pending(shopA, anna))
		list, err := v.Handovers(false, 10)
		require.NoError(k, err)
		require.Empty(k, list)
		k.say(shopA, ben, "another's")
	}
}

func board(k *kit) {
	cards, err := k.view(shopA).Board(10)
	require.NoError(k, err)
	require.Empty(k, cards)
	for i := range 7 {
		k.now = k.now.Add(-time.Second) // the order is of commits, not of clocks
		k.say(shopA, fmt.Sprintf("+1541555010%d", i), "hello")
	}
	k.say(shopA, "+15415550103", "again")
	k.say(shopB, anna, "another shop's")
	ids := func(limit int) (ids []string) {
		cards, err := k.view(shopA).Board(limit)
		require.NoError(k, err)
		for _, c := range cards {
			ids = append(ids, c.State.ID[len(c.State.ID)-1:])
		}
		return ids
	}
	require.Equal(k, []string{"3", "6", "5", "4", "2", "1", "0"}, ids(500))
	require.Equal(k, []string{"3", "6"}, ids(2))
	require.Len(k, ids(0), 1, "limits are brought to 1 to 500")
	require.Len(k, ids(100000), 7)
}

func cardShows(k *kit) {
	k.commit(k.turn(shopA, anna))
	one := func() store.Card {
		k.Helper()
		cards, err := k.view(shopA).Board(10)
		require.NoError(k, err)
		require.Len(k, cards, 1)
		return cards[0]
	}
	require.Equal(k, store.Card{State: k.load(shopA, anna), Changed: k.now}, one())

	k.now = k.now.Add(time.Minute)
	t := k.turn(shopA, anna)
	said := k.line(t, "how full is it?")
	t.Effects.Lines = []conversation.Line{said, {ID: "n", Direction: conversation.Note, Text: "asked again"}}
	t.Effects.Remind = []conversation.Reminder{{ID: "r2", Due: k.now.Add(2 * time.Hour)}, {ID: "r1", Due: k.now.Add(time.Hour)}}
	k.commit(t)
	said.Conversation, said.Delivery = anna, "queued"
	require.Equal(k, store.Card{State: k.load(shopA, anna), Last: said, NextDue: k.now.Add(time.Hour), Changed: k.now}, one())
}

func transcript(k *kit) {
	var want []string
	for i := range 6 {
		t := k.turn(shopA, anna)
		for j := range 3 {
			text := fmt.Sprintf("%d.%d", i, j)
			want = append(want, text)
			t.Effects.Lines = append(t.Effects.Lines, conversation.Line{ID: k.id("line"), At: k.now, Direction: conversation.In, Text: text, Understood: "done"})
		}
		k.commit(t)
		k.say(shopA, ben, "between")
	}
	require.Equal(k, want, k.said(shopA, anna))
	lines, err := k.view(shopA).Transcript(anna, 4)
	require.NoError(k, err)
	require.Len(k, lines, 4)
	require.Equal(k, "4.2", lines[0].Text)
	require.Equal(k, conversation.Line{ID: lines[3].ID, Conversation: anna, At: k.now, Direction: conversation.In, Text: "5.2", Understood: "done"}, lines[3])
	lines, err = k.view(shopA).Transcript(anna, 0)
	require.NoError(k, err)
	require.Empty(k, lines)
}

func tubLog(k *kit) {
	var want []conversation.LogEntry
	for i := range 5 {
		t := k.turn(shopA, anna)
		e := conversation.LogEntry{ID: k.id("entry"), Conversation: anna, At: k.now, Kind: "reading", Name: "ph", Low: 7 + float64(i)/10, High: 7.8}
		if i%2 == 1 {
			e.Dose = &conversation.Dose{Name: "flush_product", Spoons: float64(i), At: k.now}
		}
		want = append(want, e)
		t.Effects.Log = []conversation.LogEntry{e}
		t.Effects.Lines = []conversation.Line{k.line(t, "noted")}
		k.commit(t)
	}
	got, err := k.view(shopA).Log(anna, 100)
	require.NoError(k, err)
	require.Equal(k, want, got)
	got, err = k.view(shopA).Log(anna, 2)
	require.NoError(k, err)
	require.Equal(k, want[3:], got)
}

// handover commits a turn with one handover.
func (k *kit) handover(address string, h conversation.Handover) {
	k.Helper()
	t := k.turn(shopA, address)
	t.Effects.Handovers = []conversation.Handover{h}
	k.commit(t)
}

func (k *kit) handovers(closed bool, limit int) (ids []string) {
	k.Helper()
	list, err := k.view(shopA).Handovers(closed, limit)
	require.NoError(k, err)
	for _, h := range list {
		ids = append(ids, h.ID)
	}
	return ids
}

func openHandovers(k *kit) {
	at := func(minutes int) time.Time { return k.now.Add(time.Duration(minutes) * time.Minute) }
	k.handover(anna, conversation.Handover{ID: "h1", Severity: "technician", Opened: at(1)})
	k.handover(ben, conversation.Handover{ID: "h2", Severity: "emergency", Opened: at(4)})
	k.handover(anna, conversation.Handover{ID: "h3", Severity: "person_soon", Opened: at(2)})
	k.handover(ben, conversation.Handover{ID: "h4", Severity: "emergency", Opened: at(3)})
	require.Equal(k, []string{"h4", "h2", "h3", "h1"}, k.handovers(false, 10))
	require.Equal(k, []string{"h4", "h2"}, k.handovers(false, 2))

	taken := conversation.Handover{ID: "h4", Cause: "breathing_or_gas", Severity: "emergency", Facts: "mixed two products",
		Opened: at(3), Claimed: at(5), By: "dana"}
	k.handover(ben, taken)
	list, err := k.view(shopA).Handovers(false, 1)
	require.NoError(k, err)
	taken.Shop, taken.Conversation = shopA, ben
	require.Equal(k, []conversation.Handover{taken}, list)
	require.Equal(k, int64(4), k.counts(shopA).Handovers)
}

func closedHandovers(k *kit) {
	for i, id := range []string{"h1", "h2", "h3"} {
		k.handover(anna, conversation.Handover{ID: id, Severity: "technician", Opened: k.now.Add(time.Duration(i))})
	}
	require.Empty(k, k.handovers(true, 10))
	k.handover(anna, conversation.Handover{ID: "h2", Severity: "technician", Opened: k.now, Closed: k.now.Add(time.Minute), Outcome: "fixed"})
	k.handover(anna, conversation.Handover{ID: "h1", Severity: "technician", Opened: k.now, Closed: k.now.Add(time.Hour), Outcome: "fixed"})
	require.Equal(k, []string{"h1", "h2"}, k.handovers(true, 10))
	require.Equal(k, []string{"h1"}, k.handovers(true, 1))
	require.Equal(k, []string{"h3"}, k.handovers(false, 10))
	require.Equal(k, int64(1), k.counts(shopA).Handovers)
}

func remindersListed(k *kit) {
	c := k.remind(shopA, anna, k.now.Add(3*time.Hour))
	a := k.remind(shopA, anna, k.now)
	b := k.remind(shopA, anna, k.now.Add(time.Hour))
	k.remind(shopA, ben, k.now)
	require.Equal(k, []string{a, b, c}, k.pending(shopA, anna))
	k.due(10)
	require.Equal(k, []string{a, b, c}, k.pending(shopA, anna), "a lease changes nothing here")
}

func countsAdd(k *kit) {
	require.Zero(k, k.counts(shopA))
	k.say(shopA, anna, "1", "2")
	k.remind(shopA, anna, k.now)
	k.remind(shopA, ben, k.now)
	k.handover(ben, conversation.Handover{ID: "h", Severity: "technician", Opened: k.now})
	require.Equal(k, store.Counts{Conversations: 2, Turns: 4, Outbox: 2, Reminders: 2, Handovers: 1}, k.counts(shopA))
	require.Zero(k, k.counts(shopB))
}
