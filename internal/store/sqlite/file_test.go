package sqlite_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/sqlite"
	"tubhand/internal/store/storetest"
)

const fern = "fernhollow"

func open(tb testing.TB, path string, o sqlite.Options) *sqlite.Store {
	tb.Helper()
	s, err := sqlite.Open(path, o)
	require.NoError(tb, err)
	tb.Cleanup(func() { require.NoError(tb, s.Close()) })
	return s
}

func file(tb testing.TB) string { return filepath.Join(tb.TempDir(), "tubhand.db") }

// fill commits a few turns for each of n tubs.
func fill(tb testing.TB, s store.Store, n int) {
	tb.Helper()
	for i := range n {
		for range 3 {
			require.NoError(tb, storetest.BenchTurn(tb.Context(), s, fmt.Sprintf("tub%d", i)))
		}
	}
}

func TestOneServesFromAFile(t *testing.T) {
	path := file(t)
	s := open(t, path, sqlite.Options{})
	fill(t, s, 1)
	_, err := sqlite.Open(path, sqlite.Options{})
	require.ErrorIs(t, err, sqlite.ErrInUse)
	require.ErrorContains(t, err, "another tubhand serves from this file")
	fill(t, s, 2) // the refused one has harmed nothing
	require.NoError(t, s.Close())
	require.NoError(t, s.Close())
	again := open(t, path, sqlite.Options{})
	_, err = again.Load(t.Context(), fern, "tub1")
	require.NoError(t, err)
}

func TestOpenSaysWhatIsWrong(t *testing.T) {
	_, err := sqlite.Open(filepath.Join(t.TempDir(), "no", "such", "folder", "x.db"), sqlite.Options{})
	require.ErrorContains(t, err, "no/such/folder")

	noStore := filepath.Join(t.TempDir(), "notes.txt")
	require.NoError(t, os.WriteFile(noStore, []byte(strings.Repeat("shopping list\n", 500)), 0o600))
	_, err = sqlite.Open(noStore, sqlite.Options{})
	require.ErrorContains(t, err, "notes.txt")
	left, err := os.ReadFile(noStore)
	require.NoError(t, err)
	require.Equal(t, strings.Repeat("shopping list\n", 500), string(left), "another's file is left as it is")
}

func TestBackupIsAStoreOfOneMoment(t *testing.T) {
	s := open(t, file(t), sqlite.Options{})
	fill(t, s, 20)
	want, err := s.View(t.Context(), fern).Counts()
	require.NoError(t, err)
	copied := filepath.Join(t.TempDir(), "copy.db")
	require.NoError(t, s.Backup(t.Context(), copied))
	fill(t, s, 30)
	require.ErrorContains(t, s.Backup(t.Context(), copied), "choose another")

	restored := open(t, copied, sqlite.Options{})
	require.NoError(t, restored.Check(t.Context()))
	got, err := restored.View(t.Context(), fern).Counts()
	require.NoError(t, err)
	require.Equal(t, want, got)
	fill(t, restored, 30)
	require.NoError(t, restored.Check(t.Context()))
}

func TestBackupUnderLoad(t *testing.T) {
	s := open(t, file(t), sqlite.Options{})
	fill(t, s, 5)
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error)
	go func() {
		for i := 0; ; i++ {
			if err := storetest.BenchTurn(ctx, s, fmt.Sprintf("tub%d", i%50)); err != nil {
				ended <- err
				return
			}
		}
	}()
	for i := range 5 {
		copied := filepath.Join(t.TempDir(), fmt.Sprintf("copy%d.db", i))
		require.NoError(t, s.Backup(t.Context(), copied))
		require.NoError(t, sqlite.Check(t.Context(), copied), "every invariant holds in a copy of one moment")
	}
	cancel()
	require.ErrorIs(t, <-ended, context.Canceled)
}

func TestBackupThatFailsLeavesNothing(t *testing.T) {
	path := file(t)
	s := open(t, path, sqlite.Options{})
	fill(t, s, 5)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	folder := t.TempDir()
	require.ErrorIs(t, s.Backup(ctx, filepath.Join(folder, "a.db")), context.Canceled)
	require.ErrorIs(t, sqlite.Backup(ctx, path, filepath.Join(folder, "b.db")), context.Canceled)
	require.Error(t, sqlite.Backup(t.Context(), filepath.Join(folder, "none.db"), filepath.Join(folder, "c.db")))
	left, err := os.ReadDir(folder)
	require.NoError(t, err)
	require.Empty(t, left)
	require.NoError(t, s.Close())
	require.ErrorIs(t, s.Backup(t.Context(), filepath.Join(folder, "d.db")), store.ErrClosed)
}

func TestDiskFull(t *testing.T) {
	s := open(t, file(t), sqlite.Options{MaxPages: 120})
	taken := 0
	var full error
	for i := 0; full == nil; i++ {
		require.Less(t, i, 10_000, "the limit is not kept")
		if full = storetest.BenchTurn(t.Context(), s, fmt.Sprintf("tub%d", i)); full == nil {
			taken++
		}
	}
	require.ErrorContains(t, full, "full")
	require.ErrorIs(t, full, sqlite.ErrDisk)
	counts, err := s.View(t.Context(), fern).Counts()
	require.NoError(t, err)
	require.Equal(t, store.Counts{
		Conversations: int64(taken), Turns: int64(taken), Outbox: int64(taken), Reminders: int64(taken),
	}, counts, "what was acknowledged is there, and nothing of what was not")
	require.NoError(t, s.Check(t.Context()))

	// Sending makes no room, but it goes on: a full disk must not stop what is on its way.
	out, err := s.ClaimOutbox(t.Context(), time.Now(), time.Minute, 1)
	require.NoError(t, err)
	require.Len(t, out, 1)
	require.NoError(t, s.SettleOutbox(t.Context(), []store.Result{{Shop: fern, Line: out[0].Line.ID, Kind: store.Sent}}))
}

func TestGroupSurvivesOneBadTurn(t *testing.T) {
	s := open(t, file(t), sqlite.Options{})
	bad := func(event, who string) store.Turn {
		c := storetest.State(fern, who)
		return store.Turn{Shop: fern, Event: event, State: c, Effects: conversation.Effects{
			Lines: []conversation.Line{{ID: "the same", Send: true, Direction: conversation.Out}},
		}}
	}
	require.NoError(t, s.Commit(t.Context(), bad("first", "tub")))
	results := make(chan error, 40)
	for i := range cap(results) {
		go func() {
			if i%4 == 0 {
				results <- s.Commit(t.Context(), bad(fmt.Sprint("bad", i), fmt.Sprint("bad", i)))
				return
			}
			results <- storetest.BenchTurn(t.Context(), s, fmt.Sprint("tub", i))
		}()
	}
	refused := 0
	for range cap(results) {
		if err := <-results; err != nil {
			require.ErrorContains(t, err, `"the same" is in the transcript already`)
			refused++
		}
	}
	require.Equal(t, 10, refused)
	counts, err := s.View(t.Context(), fern).Counts()
	require.NoError(t, err)
	require.Equal(t, int64(31), counts.Turns)
	require.NoError(t, s.Check(t.Context()))
}
