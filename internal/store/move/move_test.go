package move_test

import (
	"context"
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"github.com/alicebob/miniredis/v2"
	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/move"
	"tubhand/internal/store/redis"
	"tubhand/internal/store/redis/redistest"
	"tubhand/internal/store/sqlite"
	"tubhand/internal/store/storetest"
)

var noon = time.Date(2026, 6, 13, 12, 0, 0, 0, time.UTC)

func inFile(t *testing.T) *sqlite.Store {
	t.Helper()
	s, err := sqlite.Open(filepath.Join(t.TempDir(), "tubhand.db"), sqlite.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	return s
}

func inRedis(t *testing.T, url string) *redis.Store {
	t.Helper()
	s, err := redis.Open(t.Context(), url, redis.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	return s
}

func standIn(t *testing.T) *redis.Store { return inRedis(t, "redis://"+miniredis.RunT(t).Addr()) }

// history fills a store with what shops leave behind: texts in every state of delivery,
// pages, notes, reminders, cases open and closed, doses.
func history(t *testing.T, s store.Store, tubs int) {
	t.Helper()
	commit := func(shop, who string, n int, fx conversation.Effects) {
		c, err := s.Load(t.Context(), shop, who)
		if err != nil {
			require.ErrorIs(t, err, store.ErrNotFound)
			c = storetest.State(shop, who)
		}
		require.NoError(t, s.Commit(t.Context(), store.Turn{Shop: shop, Event: fmt.Sprint(who, n), Now: noon.Add(time.Duration(n) * time.Second), State: c, Effects: fx}))
	}
	for i := range tubs {
		shop, who := []string{"fern", "moss:bank"}[i%2], fmt.Sprintf("tub%d@owner.example", i)
		id := func(k int) string { return fmt.Sprintf("%s.%d", who, k) }
		commit(shop, who, 1, conversation.Effects{
			Lines: []conversation.Line{
				{ID: id(1), At: noon, Direction: conversation.In, Text: "¿qué tal?"},
				{ID: id(2), At: noon, Direction: conversation.Out, Send: true, To: who, Text: "sent"},
				{ID: "loose" + who, At: noon, Direction: conversation.Out, Send: true, To: who, Text: "fails"},
				{ID: id(3), At: noon, Direction: conversation.Note, Text: "a note"},
			},
			Log:       []conversation.LogEntry{{ID: id(4), At: noon, Kind: "advised", Dose: &conversation.Dose{Spoons: 2.5, At: noon}}},
			Remind:    []conversation.Reminder{{ID: id(5), Due: noon.Add(time.Hour + time.Duration(i)*time.Millisecond), Name: "timer:soak_over"}},
			Handovers: []conversation.Handover{{ID: id(6), Severity: "emergency", Opened: noon}, {ID: id(7), Severity: "technician", Opened: noon.Add(time.Duration(i) * time.Minute)}},
		})
		require.NoError(t, s.Delivered(t.Context(), shop, id(2), "delivered"))
		require.NoError(t, s.SettleOutbox(t.Context(), []store.Result{{Shop: shop, Line: "loose" + who, Kind: store.Failed}}))
		commit(shop, who, 2, conversation.Effects{
			Lines: []conversation.Line{
				{ID: id(8), At: noon, Direction: conversation.Out, Send: true, To: who, Text: "waits"},
				{ID: id(9), At: noon, Direction: conversation.Out, Send: true, To: who, Text: "behind it"},
				{ID: id(10), At: noon, Direction: conversation.Page, Send: true, To: "dana", Text: "a page"},
			},
			Handovers: []conversation.Handover{{ID: id(6), Severity: "emergency", Opened: noon, Closed: noon.Add(time.Hour), Outcome: "fixed"}},
		})
		require.NoError(t, s.PutDocument(t.Context(), shop, store.Document{
			Kind: []string{"account", "session"}[i%3%2], Key: who, Value: []byte{0, byte(i), 0xff}, Expires: noon.Add(time.Duration(i+1) * time.Hour),
		}, noon))
	}
	for i := range 35 {
		told := make([]store.AuditEntry, 20)
		for n := range told {
			told[n] = store.AuditEntry{At: noon.Add(time.Duration(i) * time.Minute), Who: "dana", Act: "reply", Detail: fmt.Sprint(i, n)}
		}
		require.NoError(t, s.AppendAudit(t.Context(), "fern", told...))
		require.NoError(t, s.AppendAudit(t.Context(), "moss:bank", told...))
	}
}

func TestAShopThatHasOnlyAccounts(t *testing.T) {
	from, to, last := inFile(t), standIn(t), inFile(t)
	require.NoError(t, from.PutDocument(t.Context(), "alder", store.Document{Kind: "account", Key: "dana"}, noon))
	require.NoError(t, from.AppendAudit(t.Context(), "birch", store.AuditEntry{At: noon, Act: "made"}))
	r, err := move.Run(t.Context(), from, to, nil)
	require.NoError(t, err)
	require.Equal(t, move.Report{Shops: 2, Documents: 1, Audit: 1, Digest: r.Digest}, r)
	_, err = move.Run(t.Context(), to, last, nil)
	require.NoError(t, err)
	d, err := last.Document(t.Context(), "alder", "account", "dana", noon)
	require.NoError(t, err)
	require.Equal(t, int64(1), d.Version)

	again, err := move.Run(t.Context(), from, to, nil)
	require.NoError(t, err)
	require.Equal(t, r, again)
	require.NoError(t, to.AppendAudit(t.Context(), "birch", store.AuditEntry{At: noon, Act: "later"}))
	_, err = move.Run(t.Context(), from, to, nil)
	require.ErrorIs(t, err, move.ErrDiffers)
	require.NoError(t, from.AppendAudit(t.Context(), "birch", store.AuditEntry{At: noon, Act: "later"}))
	require.NoError(t, to.PutDocument(t.Context(), "alder", store.Document{Kind: "account", Key: "dana", Value: []byte("other"), Version: 1}, noon))
	_, err = move.Run(t.Context(), from, to, nil)
	require.ErrorIs(t, err, move.ErrDiffers)
	require.ErrorContains(t, err, "documents")
}

func TestThereAndBack(t *testing.T) {
	first, between, last := inFile(t), standIn(t), inFile(t)
	history(t, first, 40)
	there, err := move.Run(t.Context(), first, between, nil)
	require.NoError(t, err)
	require.Equal(t, move.Report{Shops: 2, Conversations: 40, Lines: 280, Log: 40, Reminders: 40, Handovers: 80, Documents: 40, Audit: 1400, Digest: there.Digest}, there)
	back, err := move.Run(t.Context(), between, last, nil)
	require.NoError(t, err)
	require.Equal(t, there, back, "down to the digest")
	require.NoError(t, last.Check(t.Context()))

	board := func(s store.Store) (ids []string) {
		cards, err := s.View(t.Context(), "fern").Board(500)
		require.NoError(t, err)
		for _, c := range cards {
			ids = append(ids, fmt.Sprint(c.State.ID, c.Changed, c.Last.Text, c.NextDue))
		}
		return ids
	}
	require.Equal(t, board(first), board(last), "in the board's order")
	for _, s := range []store.Store{between, last} { // and it works on
		out, err := s.ClaimOutbox(t.Context(), noon, time.Minute, 1000)
		require.NoError(t, err)
		require.Len(t, out, 80, "one to each owner and a page for each")
		due, err := s.ClaimDue(t.Context(), noon.Add(2*time.Hour), time.Minute, 1000)
		require.NoError(t, err)
		require.Len(t, due, 40)
	}
}

func TestOntoACluster(t *testing.T) {
	from, to := inFile(t), inRedis(t, redistest.StartCluster(t, 3, 0).URL())
	history(t, from, 30)
	there, err := move.Run(t.Context(), from, to, nil)
	require.NoError(t, err)
	again, err := move.Run(t.Context(), to, standIn(t), nil)
	require.NoError(t, err)
	require.Equal(t, there, again)
}

func TestBrokenOffAndGoneOnWith(t *testing.T) {
	from, to := inFile(t), standIn(t)
	history(t, from, 1400) // two shops, more than a page each
	ctx, broken := context.WithCancel(t.Context())
	_, err := move.Run(ctx, from, to, func(move.Report) { broken() })
	require.ErrorIs(t, err, context.Canceled)
	told := 0
	r, err := move.Run(t.Context(), from, to, func(r move.Report) {
		require.Greater(t, r.Conversations, told)
		told = r.Conversations
	})
	require.NoError(t, err)
	require.Equal(t, 1400, r.Conversations)
	require.Equal(t, 1400, told)
	require.Equal(t, 500, r.AlreadyThere)
}

func TestWhatIsThereAlreadyMustBeTheSame(t *testing.T) {
	from, to := inFile(t), standIn(t)
	history(t, from, 4)
	_, err := move.Run(t.Context(), from, to, nil)
	require.NoError(t, err)
	c, err := to.Load(t.Context(), "fern", "tub2@owner.example")
	require.NoError(t, err)
	c.Misses++
	require.NoError(t, to.Commit(t.Context(), store.Turn{Shop: "fern", Event: "on", Now: noon, State: c}))
	_, err = move.Run(t.Context(), from, to, nil)
	require.ErrorIs(t, err, move.ErrDiffers)
	require.ErrorContains(t, err, "tub2@owner.example")
	require.ErrorContains(t, err, "empty store")

	extra := standIn(t)
	require.NoError(t, extra.Commit(t.Context(), store.Turn{Shop: "fern", Event: "x", Now: noon, State: storetest.State("fern", "zoe")}))
	_, err = move.Run(t.Context(), from, extra, nil)
	require.ErrorIs(t, err, move.ErrDiffers, "one too many")
}

func TestALongTranscript(t *testing.T) {
	from, to := inFile(t), inRedis(t, redistest.Start(t).URL())
	turn := store.Turn{Shop: "fern", Event: "e", Now: noon, State: storetest.State("fern", "anna")}
	for i := range 12_000 {
		turn.Effects.Lines = append(turn.Effects.Lines, conversation.Line{ID: fmt.Sprint("anna.", i), At: noon, Direction: conversation.In, Text: "more"})
	}
	require.NoError(t, from.Commit(t.Context(), turn))
	r, err := move.Run(t.Context(), from, to, nil)
	require.NoError(t, err)
	require.Equal(t, 12_000, r.Lines)
}
