package record_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
)

func turn() store.Turn {
	return store.Turn{Shop: "fern", State: conversation.Conversation{
		ID: "anna", Owner: conversation.Owner{Addresses: []string{"anna"}},
	}}
}

func TestNormalFillsInAndLeavesTheCallersRecordsAlone(t *testing.T) {
	given := turn()
	given.Effects = conversation.Effects{
		Lines: []conversation.Line{
			{ID: "anna.1", Send: true}, {ID: "anna.2", Send: true, Delivery: "sent"}, {ID: "anna.3"},
		},
		Handovers: []conversation.Handover{{ID: "anna.4"}},
		Remind:    []conversation.Reminder{{ID: "anna.5"}},
		Log:       []conversation.LogEntry{{ID: "anna.6"}},
	}
	got, err := record.Normal(given)
	require.NoError(t, err)
	require.Equal(t, "fern", got.State.Shop)
	require.Equal(t, []string{"queued", "sent", ""}, []string{
		got.Effects.Lines[0].Delivery, got.Effects.Lines[1].Delivery, got.Effects.Lines[2].Delivery,
	})
	require.Equal(t, "anna", got.Effects.Lines[2].Conversation)
	require.Equal(t, "fern", got.Effects.Handovers[0].Shop)
	require.Equal(t, "anna", got.Effects.Handovers[0].Conversation)
	require.Equal(t, "anna", got.Effects.Remind[0].Conversation)
	require.Equal(t, "anna", got.Effects.Log[0].Conversation)
	require.Empty(t, given.Effects.Lines[0].Delivery)
	require.Empty(t, given.Effects.Remind[0].Conversation)
}

func TestNormalSaysWhatIsWrong(t *testing.T) {
	for want, spoil := range map[string]func(t *store.Turn){
		"names no shop":   func(t *store.Turn) { t.Shop = "" },
		`shop "moss"`:     func(t *store.Turn) { t.State.Shop = "moss" },
		"has no id":       func(t *store.Turn) { t.State.ID = "" },
		"no address":      func(t *store.Turn) { t.State.Owner.Addresses = nil },
		"line break":      func(t *store.Turn) { t.State.Owner.Addresses = []string{"a\nb"} },
		"a line of":       func(t *store.Turn) { t.Effects.Lines = []conversation.Line{{}} },
		"a reminder of":   func(t *store.Turn) { t.Effects.Remind = []conversation.Reminder{{}} },
		"line break in":   func(t *store.Turn) { t.Effects.Remind = []conversation.Reminder{{ID: "a\nb"}} },
		"a log entry of":  func(t *store.Turn) { t.Effects.Log = []conversation.LogEntry{{}} },
		`"h" is of`:       func(t *store.Turn) { t.Effects.Handovers = []conversation.Handover{{ID: "h", Conversation: "ben"}} },
		`reminder "r" is`: func(t *store.Turn) { t.Effects.Remind = []conversation.Reminder{{ID: "r", Conversation: "ben"}} },
	} {
		bad := turn()
		spoil(&bad)
		_, err := record.Normal(bad)
		require.ErrorIs(t, err, record.ErrTurn)
		require.ErrorContains(t, err, want)
	}
}

func TestPlacesInTheOutbox(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		at := rapid.Int64Range(0, time.Date(2300, 1, 1, 0, 0, 0, 0, time.UTC).UnixMilli())
		a, b := at.Draw(rt, "a"), at.Draw(rt, "b")
		require.Less(rt, record.Fresh(a), b, "fresh goes before any time")
		require.Equal(rt, a < b, record.Fresh(a) < record.Fresh(b), "in the order of queueing")
		require.Equal(rt, a, record.Ready(record.Fresh(a)))
		require.Equal(rt, a, record.Ready(a))
		require.Equal(rt, a, record.Milli(record.Time(a)))
	})
}

func TestDeliveryMovesForwardOnly(t *testing.T) {
	states := []string{record.Queued, record.Dropped, record.SentOff, record.Delivered, record.Failed}
	for i, from := range states {
		for j, to := range states {
			want := j > i && (from != record.Delivered)
			require.Equal(t, want, record.Forward(from, to), "%s to %s", from, to)
		}
	}
}

func TestWorstFirst(t *testing.T) {
	at := time.Date(2026, 6, 13, 12, 0, 0, 0, time.UTC)
	list := []conversation.Handover{
		{ID: "d", Severity: "technician", Opened: at}, {ID: "c", Severity: "person_soon", Opened: at},
		{ID: "b", Severity: "emergency", Opened: at.Add(time.Hour)}, {ID: "a", Severity: "emergency", Opened: at},
	}
	record.WorstFirst(list)
	var ids string
	for _, h := range list {
		ids += h.ID
	}
	require.Equal(t, "abcd", ids)
}

func TestStateTakesItsVersionFromBeside(t *testing.T) {
	written, err := record.Encode(conversation.Conversation{ID: "anna", Version: 3})
	require.NoError(t, err)
	c, err := record.State(written, 4)
	require.NoError(t, err)
	require.Equal(t, int64(4), c.Version)
	_, err = record.State("{", 1)
	require.ErrorContains(t, err, "decode conversation.Conversation")
}
