package sqlite

import (
	"database/sql/driver"
	"fmt"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/store/internal/feed"
	"tubhand/internal/store/internal/record"
	"tubhand/internal/store/storetest"
)

// BenchmarkBare is what the machine can do with a turn's payload and nothing of the
// contract: a read, then a state of the same size, two lines, an outbox row, a reminder
// and a mark, in the plainest tables, by the same group commit. Turns are measured
// against it, in the same run.
func BenchmarkBare(b *testing.B) {
	path := filepath.Join(b.TempDir(), "bare.db")
	c, err := connect(dsn(path, "rwc"))
	require.NoError(b, err)
	require.NoError(b, c.script(`
		CREATE TABLE bare_state (id INTEGER PRIMARY KEY, version INTEGER, body TEXT) STRICT;
		CREATE TABLE bare_line (num INTEGER PRIMARY KEY, id INTEGER, body TEXT) STRICT;
		CREATE TABLE bare_outbox (num INTEGER PRIMARY KEY, id INTEGER, body TEXT) STRICT;
		CREATE TABLE bare_reminder (num INTEGER PRIMARY KEY, due INTEGER, body TEXT) STRICT;
		CREATE INDEX bare_reminder_due ON bare_reminder (due);
		CREATE TABLE bare_mark (id TEXT PRIMARY KEY) STRICT, WITHOUT ROWID;`))
	require.NoError(b, migrate(c))
	var hub feed.Hub
	s := &Store{path: path, closing: make(chan struct{})}
	s.shared.states = newStates()
	s.writer = newWriter(c, &hub, &s.shared, Options{})
	require.NoError(b, s.writer.begin())
	require.NoError(b, s.openReaders(4))
	s.keeper, err = newKeeper(path, s.writer)
	require.NoError(b, err)
	go s.writer.run()
	go s.keeper.run()
	b.Cleanup(func() { require.NoError(b, s.Close()) })

	const callers, tubs = 64, 2048
	turn := storetest.NextTurn(storetest.State("fernhollow", "+15415550142"))
	p, err := prepare(turn)
	require.NoError(b, err)
	var next atomic.Int64
	var wg sync.WaitGroup
	b.ResetTimer()
	for caller := range callers {
		wg.Go(func() {
			for i := caller; next.Add(1) <= int64(b.N); i += callers {
				if err := bareTurn(b, s, p, int64(i%tubs), i); err != nil {
					b.Error(err)
					return
				}
			}
		})
	}
	wg.Wait()
	b.StopTimer()
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "turns/s")
}

func bareTurn(b *testing.B, s *Store, p *written, id int64, i int) error {
	state := p.state
	err := s.read(b.Context(), func(r *reader) error {
		return r.rows(func(row []driver.Value) error {
			state = text(row[0])
			return nil
		}, "SELECT body FROM bare_state WHERE id = ?", id)
	})
	if err != nil {
		return err
	}
	due := record.Milli(p.turn.Now) + int64(i)*1000
	return s.do(b.Context(), func(w *writer) error {
		for _, step := range []struct {
			text string
			args []driver.Value
		}{
			{"INSERT INTO bare_mark (id) VALUES (?)", []driver.Value{fmt.Sprintf("SM%x", markHash(fmt.Sprint(id, i)))}},
			{"INSERT INTO bare_state (id, version, body) VALUES (?, 1, ?) ON CONFLICT DO UPDATE SET version = version + 1, body = excluded.body", []driver.Value{id, state}},
			{"INSERT INTO bare_line (id, body) VALUES (?, ?)", []driver.Value{id, p.lines[0]}},
			{"INSERT INTO bare_line (id, body) VALUES (?, ?)", []driver.Value{id, p.lines[1]}},
			{"INSERT INTO bare_outbox (id, body) VALUES (?, ?)", []driver.Value{id, p.lines[1]}},
			{"INSERT INTO bare_reminder (due, body) VALUES (?, ?)", []driver.Value{due, p.reminders[0]}},
		} {
			if _, err := w.c.exec(step.text, step.args...); err != nil {
				return err
			}
		}
		return nil
	})
}
