package sqlite

import (
	"context"
	"database/sql/driver"
	"fmt"

	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
)

// Bare is what turns are measured against, and is for nothing else: a read, then a state,
// lines, an outbox row, a reminder and a mark of a turn's size in the plainest tables, over
// the same connections and with the same group commit. It keeps nothing of the contract.
type Bare struct {
	s       *Store
	payload *written
}

// OpenBare makes a new file at path; sample is the turn whose size is written each time.
func OpenBare(path string, sample store.Turn) (*Bare, error) {
	payload, err := prepare(sample)
	if err != nil {
		return nil, err
	}
	if len(payload.lines) == 0 || len(payload.reminders) == 0 {
		return nil, fmt.Errorf("%w: a sample says something and sets a reminder", record.ErrTurn)
	}
	s, err := Open(path, Options{})
	if err != nil {
		return nil, err
	}
	b := &Bare{s, payload}
	err = s.do(context.Background(), func(w *writer) error {
		return w.c.script(`
			CREATE TABLE bare_state (id INTEGER PRIMARY KEY, version INTEGER, body TEXT) STRICT;
			CREATE TABLE bare_line (num INTEGER PRIMARY KEY, id INTEGER, body TEXT) STRICT;
			CREATE TABLE bare_outbox (num INTEGER PRIMARY KEY, id INTEGER, body TEXT) STRICT;
			CREATE TABLE bare_reminder (num INTEGER PRIMARY KEY, due INTEGER, body TEXT) STRICT;
			CREATE INDEX bare_reminder_due ON bare_reminder (due);
			CREATE TABLE bare_mark (id TEXT PRIMARY KEY) STRICT, WITHOUT ROWID;`)
	})
	return b, err
}

// Turn reads and writes once; n must be new each time.
func (b *Bare) Turn(ctx context.Context, tub, n int64) error {
	state := b.payload.state
	err := b.s.read(ctx, func(r *reader) error {
		return r.rows(func(row []driver.Value) error {
			state = text(row[0])
			return nil
		}, "SELECT body FROM bare_state WHERE id = ?", tub)
	})
	if err != nil {
		return err
	}
	mark := fmt.Sprintf("SM%x", markHash(fmt.Sprint(n)))
	due := b.payload.now + n*1000
	return b.s.do(ctx, func(w *writer) error { return b.write(w, tub, state, mark, due) })
}

func (b *Bare) write(w *writer, tub int64, state, mark string, due int64) error {
	exec := func(query string, args ...driver.Value) error {
		_, err := w.c.exec(query, args...)
		return err
	}
	if err := exec("INSERT INTO bare_mark (id) VALUES (?)", mark); err != nil {
		return err
	}
	err := exec(`INSERT INTO bare_state (id, version, body) VALUES (?, 1, ?)
		ON CONFLICT DO UPDATE SET version = version + 1, body = excluded.body`, tub, state)
	if err != nil {
		return err
	}
	for _, l := range b.payload.lines {
		if err := exec("INSERT INTO bare_line (id, body) VALUES (?, ?)", tub, l); err != nil {
			return err
		}
	}
	last := b.payload.lines[len(b.payload.lines)-1]
	if err := exec("INSERT INTO bare_outbox (id, body) VALUES (?, ?)", tub, last); err != nil {
		return err
	}
	return exec("INSERT INTO bare_reminder (due, body) VALUES (?, ?)", due, b.payload.reminders[0])
}

// Close ends it.
func (b *Bare) Close() error { return b.s.Close() }
