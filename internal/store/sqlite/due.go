package sqlite

import (
	"context"
	"database/sql/driver"
	"time"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
)

// ClaimDue implements store.Store.
func (s *Store) ClaimDue(ctx context.Context, now time.Time, lease time.Duration, n int) (out []store.Due, err error) {
	var ripe []ripe
	err = s.do(ctx, func(w *writer) error {
		ripe, err = w.claimDue(record.Milli(now), record.Milli(now.Add(lease)), n)
		return err
	})
	if err != nil {
		return nil, err
	}
	for _, r := range ripe {
		body, err := record.Decode[conversation.Reminder](r.body)
		if err != nil {
			return nil, err
		}
		body.Due = record.Time(r.due)
		out = append(out, store.Due{Shop: r.shop, Reminder: body})
	}
	return out, nil
}

// ripe is a reminder whose time has come.
type ripe struct {
	conversation, due int64
	id, shop, body    string
}

func (w *writer) claimDue(now, until int64, n int) (list []ripe, err error) {
	err = w.c.rows(func(r []driver.Value) error {
		list = append(list, ripe{integer(r[0]), integer(r[1]), text(r[2]), text(r[3]), text(r[4])})
		return nil
	}, `SELECT conversation, due, id, (SELECT key FROM shop WHERE num = r.shop), body
		FROM reminder r WHERE place <= ? ORDER BY place LIMIT ?`, now, int64(max(n, 0)))
	if err != nil {
		return nil, err
	}
	for _, r := range list {
		_, err := w.c.exec("UPDATE reminder SET place = ? WHERE conversation = ? AND id = ?", until, r.conversation, r.id)
		if err != nil {
			return nil, err
		}
	}
	return list, nil
}

// NextDue implements store.Store.
func (s *Store) NextDue(ctx context.Context) (at time.Time, ok bool, err error) {
	err = s.read(ctx, func(r *reader) error {
		due, reminds, err := r.number("SELECT min(place) FROM reminder")
		if err != nil {
			return err
		}
		place, sends, err := r.number("SELECT min(place) FROM outbox WHERE place IS NOT NULL")
		if err != nil {
			return err
		}
		ready := record.Ready(place)
		switch {
		case reminds && (!sends || due <= ready):
			at, ok = record.Time(due), true
		case sends:
			at, ok = record.Time(ready), true
		}
		return nil
	})
	return at, ok, err
}
