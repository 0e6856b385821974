package sqlite

import (
	"context"
	"database/sql/driver"
	"errors"
	"time"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
)

// Leases on reminders are kept in the writer's memory: only this process serves from the
// file, and when it is gone its leases may go with it. So claiming writes nothing.

// ClaimDue implements store.Store.
func (s *Store) ClaimDue(ctx context.Context, now time.Time, lease time.Duration, n int) (out []store.Due, err error) {
	var list []ripe
	err = s.do(ctx, func(w *writer) error {
		list, err = w.claimDue(record.Milli(now), record.Milli(now.Add(lease)), n)
		return err
	})
	if err != nil {
		return nil, err
	}
	for _, r := range list {
		remind, err := record.Decode[conversation.Reminder](r.body)
		if err != nil {
			return nil, err
		}
		remind.Due = record.Time(r.due)
		out = append(out, store.Due{Shop: r.shop, Reminder: remind})
	}
	return out, nil
}

// ripe is a reminder whose time has come.
type ripe struct {
	dueKey
	shop, body string
}

// errEnough ends a query that has found what it looked for.
var errEnough = errors.New("enough")

// walkDue goes through the reminders in the order of their times until each has enough.
func (w *writer) walkDue(each func(r ripe) error) error {
	err := w.c.rows(func(v []driver.Value) error {
		return each(ripe{dueKey{integer(v[0]), integer(v[1]), text(v[2])}, text(v[3]), text(v[4])})
	}, `SELECT due, conversation, id, (SELECT key FROM shop WHERE num = r.shop), body
		FROM reminder r ORDER BY due, conversation, id`)
	if errors.Is(err, errEnough) {
		return nil
	}
	return err
}

func (w *writer) claimDue(now, until int64, n int) (list []ripe, err error) {
	err = w.walkDue(func(r ripe) error {
		if len(list) >= n || r.due > now {
			return errEnough
		}
		if w.leases[r.dueKey] <= now {
			list = append(list, r)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	for _, r := range list {
		w.leases[r.dueKey] = until
	}
	return list, nil
}

// NextDue implements store.Store.
func (s *Store) NextDue(ctx context.Context) (at time.Time, ok bool, err error) {
	next := int64(0)
	err = s.do(ctx, func(w *writer) error {
		next, ok, err = w.nextDue()
		return err
	})
	if err != nil || !ok {
		return time.Time{}, false, err
	}
	return record.Time(next), true, nil
}

func (w *writer) nextDue() (next int64, ok bool, err error) {
	place, ok, err := w.c.number("SELECT min(place) FROM outbox WHERE place IS NOT NULL")
	if err != nil {
		return 0, false, err
	}
	next = record.Ready(place)
	err = w.walkDue(func(r ripe) error {
		at := max(r.due, w.leases[r.dueKey])
		if !ok || at < next {
			next, ok = at, true
		}
		if r.due >= next { // nor is any later one earlier
			return errEnough
		}
		return nil
	})
	return next, ok, err
}
