package sqlite

import (
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
	"tubhand/internal/store/storetest"
)

func openFile(t *testing.T) *Store {
	t.Helper()
	s, err := Open(filepath.Join(t.TempDir(), "tubhand.db"), Options{})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	return s
}

// inside runs do on the writer, as a job of its own.
func inside(t *testing.T, s *Store, do func(w *writer) error) {
	t.Helper()
	require.NoError(t, s.do(t.Context(), do))
}

func count(t *testing.T, s *Store, query string) (n int64) {
	t.Helper()
	require.NoError(t, s.read(t.Context(), func(r *reader) (err error) {
		n, _, err = r.number(query)
		return err
	}))
	return n
}

// textTurn is the next turn of a conversation, for an event.
func textTurn(t *testing.T, s *Store, who, event string, at time.Time) store.Turn {
	t.Helper()
	c, err := s.Load(t.Context(), "fernhollow", who)
	if err != nil {
		require.ErrorIs(t, err, store.ErrNotFound)
		c = storetest.State("fernhollow", who)
	}
	return store.Turn{Shop: "fernhollow", Event: event, Now: at, State: c}
}

// TestMarksOfAChattyOwner sends far more events than a row holds marks for.
func TestMarksOfAChattyOwner(t *testing.T) {
	s := openFile(t)
	at := time.Date(2026, 6, 13, 12, 0, 0, 0, time.UTC)
	known := func(from, to int) {
		t.Helper()
		for i := from; i < to; i += 7 {
			err := s.Commit(t.Context(), textTurn(t, s, "anna", fmt.Sprint("event", i), at))
			require.ErrorIs(t, err, store.ErrDuplicate, "event %d", i)
		}
	}
	send := func(from, to int) {
		t.Helper()
		for i := from; i < to; i++ {
			require.NoError(t, s.Commit(t.Context(), textTurn(t, s, "anna", fmt.Sprint("event", i), at)), "event %d", i)
		}
	}
	send(0, 700)
	known(0, 700)
	require.NoError(t, s.Check(t.Context()))
	require.Greater(t, count(t, s, "SELECT count(*) FROM mark"), int64(400))
	require.LessOrEqual(t, count(t, s, "SELECT length(marks) FROM conversation"), int64(mostMarks*markSize))

	at = at.Add(72 * time.Hour)
	send(700, 701)
	known(0, 701)
	at = at.Add(9 * time.Hour) // past the time of the first ones
	send(701, 901)
	known(700, 901)
	require.NoError(t, s.Check(t.Context()))
	require.Less(t, count(t, s, "SELECT count(*) FROM mark"), int64(200), "old marks are not kept for ever")
}

// TestMarksGoWithTheAddress repeats events that came before their address was taken over
// by another conversation.
func TestMarksGoWithTheAddress(t *testing.T) {
	s := openFile(t)
	at := time.Date(2026, 6, 13, 12, 0, 0, 0, time.UTC)
	for i := range 300 {
		require.NoError(t, s.Commit(t.Context(), textTurn(t, s, "anna", fmt.Sprint("hers", i), at)))
	}
	taking := textTurn(t, s, "ben", "his", at)
	taking.State.Owner.Addresses = []string{"ben", "anna"}
	require.NoError(t, s.Commit(t.Context(), taking))
	for _, event := range []string{"hers0", "hers150", "hers299", "his"} {
		again := textTurn(t, s, "anna", event, at)
		require.Equal(t, "ben", again.State.ID)
		require.ErrorIs(t, s.Commit(t.Context(), again), store.ErrDuplicate, event)
	}
	require.NoError(t, s.Commit(t.Context(), textTurn(t, s, "anna", "new", at)))
	require.NoError(t, s.Check(t.Context()))
}

func TestMarks(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var m marks
		at := make(map[string]int64)
		now := int64(0)
		for i := range rapid.IntRange(1, 40).Draw(rt, "n") {
			now += rapid.Int64Range(0, 20*time.Hour.Milliseconds()).Draw(rt, "later")
			event := fmt.Sprint("event", i)
			m = m.with(markHash(event), now)
			at[event] = now
			for event, at := range at {
				if now-at <= 72*time.Hour.Milliseconds() {
					require.True(rt, m.has(markHash(event)), "%s is kept for 72 hours", event)
				}
				if now-at > 81*time.Hour.Milliseconds() {
					require.False(rt, m.has(markHash(event)), "%s is forgotten in the end", event)
				}
			}
		}
	})
}

func TestPendingList(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var want []pending
		for range rapid.IntRange(0, 5).Draw(rt, "n") {
			want = append(want, pending{rapid.Int64().Draw(rt, "due"), rapid.StringMatching(`[^\n]*`).Draw(rt, "id")})
		}
		got, err := readPending(writePending(want))
		require.NoError(rt, err)
		require.Equal(rt, want, got)
	})
	_, err := readPending("soon anna.5\n")
	require.ErrorContains(t, err, `"soon anna.5`)
}

func TestCheckFindsDamage(t *testing.T) {
	for rule, damage := range map[string]string{
		"count of outbox is right":        "DELETE FROM outbox WHERE num = 2",
		"count of turns is right":         "UPDATE conversation SET version = version + 1 WHERE num = 1",
		"is a queued line":                "UPDATE line SET delivery = 'sent' WHERE num = 2",
		"no other, may go":                "UPDATE outbox SET place = NULL WHERE num = 2",
		"lists its reminders":             "UPDATE conversation SET reminders = '' WHERE num = 1",
		"last line is its own":            "UPDATE conversation SET line = 4 WHERE num = 1",
		"in its conversation's chain":     "UPDATE line SET prev = 0 WHERE num = 6",
		"has its place on the board":      "DELETE FROM touch WHERE num = 1",
		"count of handovers is right":     "UPDATE shop SET handovers = 7",
		"count of conversations is right": "UPDATE shop SET conversations = 7",
		"count of reminders is right":     "UPDATE shop SET reminders = 7",
		"queued waits in the outbox":      "UPDATE outbox SET num = 99 WHERE num = 2",
	} {
		s := openFile(t)
		for _, tub := range []string{"anna", "ben", "anna"} {
			require.NoError(t, storetest.BenchTurn(t.Context(), s, tub))
		}
		require.NoError(t, s.Check(t.Context()))
		inside(t, s, func(w *writer) error {
			n, err := w.c.exec(damage)
			require.NotZero(t, n, damage)
			return err
		})
		err := s.Check(t.Context())
		require.ErrorIs(t, err, ErrDamaged, damage)
		require.ErrorContains(t, err, rule, damage)
	}
}

func TestNewerFileIsRefused(t *testing.T) {
	path := filepath.Join(t.TempDir(), "tubhand.db")
	s, err := Open(path, Options{})
	require.NoError(t, err)
	require.NoError(t, s.Close())
	c, err := connect(dsn(path, "rw", writersCache))
	require.NoError(t, err)
	require.NoError(t, c.script("PRAGMA user_version = 99"))
	require.NoError(t, c.close())
	_, err = Open(path, Options{})
	require.ErrorContains(t, err, "use a newer tubhand")
}

func TestAfterARollbackTheWriterKnowsWhatIsThere(t *testing.T) {
	s := openFile(t)
	require.NoError(t, storetest.BenchTurn(t.Context(), s, "anna"))
	broken := fmt.Errorf("something broke")
	err := s.do(t.Context(), func(w *writer) error {
		turn := storetest.NextTurn(storetest.State("fernhollow", "ben"))
		p, err := prepare(turn)
		require.NoError(t, err)
		require.NoError(t, w.commit(p))
		return broken
	})
	require.ErrorIs(t, err, broken)
	_, err = s.Load(t.Context(), "fernhollow", "ben")
	require.ErrorIs(t, err, store.ErrNotFound)
	for range 3 {
		for _, tub := range []string{"anna", "ben"} {
			require.NoError(t, storetest.BenchTurn(t.Context(), s, tub))
		}
	}
	require.NoError(t, s.Check(t.Context()))
}

// TestReadsFromMemoryAndFileAgree goes through more conversations than the store
// remembers, so that each is met in memory, in the file, and by a hint.
func TestReadsFromMemoryAndFileAgree(t *testing.T) {
	s := openFile(t)
	inside(t, s, func(w *writer) error {
		s.shared.states.byID.n, s.shared.states.leads.n, w.rows.n = 4, 3, 4
		return nil
	})
	for round := range 3 {
		for i := range 40 {
			who := fmt.Sprintf("tub%d", i)
			require.NoError(t, storetest.BenchTurn(t.Context(), s, who))
			for _, back := range []int{0, 1, 7, 20} {
				c, err := s.Load(t.Context(), "fernhollow", fmt.Sprintf("tub%d", max(0, i-back)))
				require.NoError(t, err)
				require.Equal(t, int64(round+1), c.Version)
				written, err := s.View(t.Context(), "fernhollow").Conversation(c.ID)
				require.NoError(t, err)
				fromFile, err := record.Encode(written)
				require.NoError(t, err)
				got, err := record.Encode(c)
				require.NoError(t, err)
				require.Equal(t, fromFile, got)
			}
		}
	}
	require.NoError(t, s.Check(t.Context()))
}

// TestHintsThatAreTooOld reads a row, has it written and forgotten, and then commits on
// what was read: the old row must not be taken for the present one.
func TestHintsThatAreTooOld(t *testing.T) {
	s := openFile(t)
	forget := func() {
		inside(t, s, func(w *writer) error {
			s.shared.states.byID = recent[stateKey, conversation.Conversation]{n: remembered}
			w.rows = recent[rowKey, row]{n: remembered}
			return nil
		})
	}
	require.NoError(t, storetest.BenchTurn(t.Context(), s, "anna"))
	forget()
	old, err := s.Load(t.Context(), "fernhollow", "anna") // leaves a hint
	require.NoError(t, err)
	stale := storetest.NextTurn(old)
	stale.Event = "another"
	_, before := s.shared.hints.rows[rowKey{1, "anna"}]
	require.True(t, before)

	kept := s.shared.hints.rows[rowKey{1, "anna"}]
	require.NoError(t, s.Commit(t.Context(), storetest.NextTurn(old)))
	s.shared.hints.give(rowKey{1, "anna"}, kept.row, kept.puts)
	require.ErrorIs(t, s.Commit(t.Context(), stale), store.ErrConflict, "what the writer keeps in mind goes first")

	forget()
	s.shared.hints.give(rowKey{1, "anna"}, kept.row, kept.puts)
	s.shared.hints.puts.Add(remembered)
	require.ErrorIs(t, s.Commit(t.Context(), stale), store.ErrConflict, "so old a hint is not used")
	require.NoError(t, s.Check(t.Context()))
}
