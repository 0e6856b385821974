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
	var list []ripe
	err = s.doFlushed(ctx, func(w *writer) error {
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

// walkDue goes through the reminders in the order of their times until each has enough.
func (w *writer) walkDue(each func(r ripe) error) error {
	return w.c.walk(func(v []driver.Value) error {
		return each(ripe{dueKey{integer(v[0]), integer(v[1]), text(v[2])}, text(v[3]), text(v[4])})
	}, `SELECT due, conversation, id, (SELECT key FROM shop WHERE num = r.shop), body
		FROM reminder r ORDER BY due, conversation, id`)
}

func (w *writer) claimDue(now, until int64, n int) (list []ripe, err error) {
	err = w.walkDue(func(r ripe) error {
		if len(list) >= n || r.due > now {
			return errEnough
		}
		if !w.leases.runs(r.dueKey, now) {
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
	err = s.doFlushed(ctx, func(w *writer) error {
		next, ok, err = w.nextDue()
		return err
	})
	if err != nil || !ok {
		return time.Time{}, false, err
	}
	return record.Time(next), true, nil
}

func (w *writer) nextDue() (next int64, ok bool, err error) {
	look := func(place int64, key dueKey) error {
		lease, given := w.leases[key]
		if at := max(record.Ready(place), lease); !ok || at < next {
			next, ok = at, true
		}
		if place >= next || !given {
			return errEnough // no later one is earlier, or this one may go at once
		}
		return nil
	}
	err = w.walkDue(func(r ripe) error { return look(r.due, r.dueKey) })
	if err != nil {
		return 0, false, err
	}
	err = w.walkOutbox(func(place int64, h head) error { return look(place, messageKey(h.num)) })
	return next, ok, err
}
