package sqlite

import (
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

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

func TestMarksOfOneNumber(t *testing.T) {
	s := openFile(t)
	inside(t, s, func(w *writer) error {
		sh, err := w.shop("fernhollow")
		require.NoError(t, err)
		first, err := w.mark(sh.num, "first", 1)
		require.NoError(t, err)
		// Another event sits on the number that "second" would have.
		_, err = w.c.exec("INSERT INTO seen (num, shop, id, at) VALUES (?, ?, 'other', 1)", markNumber(sh.num, "second"), sh.num)
		require.NoError(t, err)
		second, err := w.mark(sh.num, "second", 1)
		require.NoError(t, err)
		require.Equal(t, markNumber(sh.num, "second")+1, second)
		require.NotEqual(t, first, second)
		for _, event := range []string{"first", "second", "other"} {
			if event == "other" {
				continue // it is not where its hash would look for it
			}
			_, err = w.mark(sh.num, event, 2)
			require.ErrorIs(t, err, store.ErrDuplicate, event)
		}
		require.ErrorIs(t, w.unmark(second), store.ErrConflict)
		_, err = w.mark(sh.num, "second", 2)
		require.NoError(t, err, "taken back, it can be set again")
		return nil
	})
}

func TestOldMarksGoInSmallSteps(t *testing.T) {
	s := openFile(t)
	const marks = 3000
	day := 24 * time.Hour.Milliseconds()
	set := func(from, n int, at int64) {
		for i := from; i < from+n; i += 100 {
			inside(t, s, func(w *writer) error {
				for j := i; j < i+100; j++ {
					if _, err := w.mark(1, fmt.Sprint("event", j), at); err != nil {
						return err
					}
				}
				return nil
			})
		}
	}
	set(0, marks, 0)
	set(marks, marks, 3*day)
	require.Equal(t, int64(2*marks), count(t, s, "SELECT count(*) FROM seen"), "72 hours are kept")
	before := count(t, s, "SELECT count(*) FROM seen")
	for i := 0; count(t, s, "SELECT count(*) FROM seen WHERE at = 0") > 0; i++ {
		require.Less(t, i, 200, "the oldest never go")
		set(2*marks+100*i, 100, 4*day)
		now := count(t, s, "SELECT count(*) FROM seen")
		require.GreaterOrEqual(t, now-before, int64(100-sweepStep), "a step drops at most %d", sweepStep)
		before = now
	}
	require.Equal(t, int64(marks), count(t, s, fmt.Sprintf("SELECT count(*) FROM seen WHERE at = %d", 3*day)))
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
	c, err := connect(dsn(path, "rw"))
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

// TestReadsFromMemoryAndFileAgree looks at conversations that the store remembers and
// at those that it has forgotten.
func TestReadsFromMemoryAndFileAgree(t *testing.T) {
	s := openFile(t)
	inside(t, s, func(w *writer) error {
		s.states.n, w.rows.n = 4, 4
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
			}
		}
	}
	require.Equal(t, record.Milli(time.Unix(0, 0)), int64(0))
	require.NoError(t, s.Check(t.Context()))
}
