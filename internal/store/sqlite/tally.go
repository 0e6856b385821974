package sqlite

import (
	"context"
	"database/sql/driver"
	"slices"
	"time"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
)

// putTallies adds a turn's counts.
func (w *writer) putTallies(sh *tally, _ *row, p *written) error {
	for _, t := range p.turn.Effects.Tally {
		_, err := w.c.exec(`INSERT INTO tally (shop, day, kind, key, n, sum) VALUES (?, ?, ?, ?, ?, ?)
			ON CONFLICT DO UPDATE SET n = n + excluded.n, sum = sum + excluded.sum`, sh.num, t.Day, t.Kind, t.Key, t.N, t.Sum)
		if err != nil {
			return err
		}
	}
	return nil
}

// PutTallies implements store.Tallied.
func (s *Store) PutTallies(ctx context.Context, shop string, list []conversation.Tally) error {
	if err := record.CheckTallies(list); err != nil {
		return record.Refused(err)
	}
	return s.do(ctx, func(w *writer) error {
		sh, err := w.shop(shop)
		if err != nil {
			return err
		}
		for _, t := range list {
			_, err := w.c.exec("INSERT OR REPLACE INTO tally (shop, day, kind, key, n, sum) VALUES (?, ?, ?, ?, ?, ?)", sh.num, t.Day, t.Kind, t.Key, t.N, t.Sum)
			if err != nil {
				return err
			}
		}
		return nil
	})
}

// Tallies implements store.Across.
func (v view) Tallies(from, until string, kinds ...string) ([]conversation.Tally, error) {
	all, err := list(v, func(row []driver.Value) (conversation.Tally, error) {
		return conversation.Tally{Day: text(row[0]), Kind: text(row[1]), Key: text(row[2]), N: integer(row[3]), Sum: integer(row[4])}, nil
	}, "SELECT day, kind, key, n, sum FROM tally WHERE "+ofShop+" AND day >= ? AND day <= ? ORDER BY day, kind, key", v.shop, from, until)
	return slices.DeleteFunc(all, func(t conversation.Tally) bool { return !record.Wants(t, from, until, kinds) }), err
}

// Upcoming implements store.Across. It goes through the reminders of all shops by time.
func (v view) Upcoming(from, until time.Time, n int) ([]store.Coming, error) {
	return list(v, func(row []driver.Value) (c store.Coming, err error) {
		if c.Reminder, err = record.Decode[conversation.Reminder](text(row[0])); err != nil {
			return c, err
		}
		c.Reminder.Due = record.Time(integer(row[1]))
		c.State, err = record.State(text(row[2]), integer(row[3]))
		return c, err
	}, `SELECT r.body, r.due, c.state, c.version FROM reminder r CROSS JOIN conversation c ON c.num = r.conversation
		WHERE r.shop = (SELECT num FROM shop WHERE key = ?) AND r.due >= ? AND r.due < ? ORDER BY r.due, r.id LIMIT ?`,
		v.shop, record.Milli(from), record.Milli(until), int64(record.Limit(n, 500)))
}
