package sqlite

import (
	"context"
	"database/sql/driver"
	"time"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
)

// ClaimOutbox implements store.Store.
func (s *Store) ClaimOutbox(ctx context.Context, now time.Time, lease time.Duration, n int) (out []store.Outgoing, err error) {
	var heads []head
	err = s.doFlushed(ctx, func(w *writer) error {
		heads, err = w.claimOutbox(record.Milli(now), record.Milli(now.Add(lease)), n)
		return err
	})
	if err != nil {
		return nil, err
	}
	for _, h := range heads {
		l, err := line(h.body, h.delivery)
		if err != nil {
			return nil, err
		}
		out = append(out, store.Outgoing{Shop: h.shop, Line: l, Attempt: int(h.attempt) + 1})
	}
	return out, nil
}

// head is the first message of a queue.
type head struct {
	conversation, num, attempt int64
	shop, delivery, body       string
}

// walkOutbox goes through the messages that may go or are given out, in the order of
// their places, until each has enough.
func (w *writer) walkOutbox(each func(place int64, h head) error) error {
	return w.c.walk(func(r []driver.Value) error {
		return each(integer(r[0]), head{integer(r[1]), integer(r[2]), integer(r[3]), text(r[4]), text(r[5]), text(r[6])})
	}, `SELECT o.place, o.conversation, o.num, o.attempt, (SELECT key FROM shop WHERE num = o.shop), l.delivery, l.body
		FROM outbox o JOIN line l ON l.num = o.num WHERE o.place IS NOT NULL ORDER BY o.place, o.num`)
}

// claimOutbox writes the attempts down, so that those of a message that takes the process
// with it are counted too. The lease is kept in memory: see leases.
func (w *writer) claimOutbox(now, until int64, n int) (heads []head, err error) {
	err = w.walkOutbox(func(place int64, h head) error {
		if len(heads) >= n || place > now {
			return errEnough
		}
		if !w.leases.runs(messageKey(h.num), now) {
			heads = append(heads, h)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	for _, h := range heads {
		w.leases[messageKey(h.num)] = until
		_, err := w.c.exec("UPDATE outbox SET attempt = attempt + 1 WHERE num = ?", h.num)
		if err != nil {
			return nil, err
		}
	}
	return heads, nil
}

// SettleOutbox implements store.Store.
func (s *Store) SettleOutbox(ctx context.Context, results []store.Result) error {
	if err := record.CheckResults(results); err != nil {
		return err
	}
	return s.doFlushed(ctx, func(w *writer) error {
		for _, r := range results {
			if err := w.settle(r); err != nil {
				return err
			}
		}
		return nil
	})
}

func (w *writer) settle(r store.Result) error {
	sh, ok := w.known(r.Shop)
	if !ok {
		return nil
	}
	at, err := w.lineOf(sh.num, r.Line)
	if err != nil || at.num == 0 {
		return err
	}
	if err := w.changedAt(r.Shop, at.conversation); err != nil {
		return err
	}
	if r.Kind == store.Retry {
		delete(w.leases, messageKey(at.num))
		_, err := w.c.exec("UPDATE outbox SET place = ? WHERE num = ? AND place IS NOT NULL", record.Milli(r.Next), at.num)
		return err
	}
	left, err := w.leave(sh, at)
	if err != nil || !left && r.Kind == store.Failed {
		return err
	}
	return w.advance(at, r.Kind) // kinds are named as the states they lead to
}

// Delivered implements store.Store.
func (s *Store) Delivered(ctx context.Context, shop, id, state string) error {
	if err := record.CheckReport(state); err != nil {
		return err
	}
	return s.doFlushed(ctx, func(w *writer) error { return w.delivered(shop, id, state) })
}

func (w *writer) delivered(shop, id, state string) error {
	sh, ok := w.known(shop)
	if !ok {
		return store.ErrNotFound
	}
	at, err := w.lineOf(sh.num, id)
	if err != nil {
		return err
	}
	if at.num == 0 {
		return store.ErrNotFound
	}
	if _, err := w.leave(sh, at); err != nil {
		return err
	}
	if err := w.changedAt(shop, at.conversation); err != nil {
		return err
	}
	return w.advance(at, state)
}

func (w *writer) advance(at spot, to string) error {
	if !record.Forward(at.delivery, to) {
		return nil
	}
	_, err := w.c.exec("UPDATE line SET delivery = ? WHERE num = ?", to, at.num)
	return err
}

// changedAt notes a change of the conversation with this number.
func (w *writer) changedAt(shop string, num int64) error {
	if !w.hub.Watched() {
		return nil
	}
	return w.c.rows(func(r []driver.Value) error {
		w.changed(shop, text(r[0]))
		return nil
	}, "SELECT id FROM conversation WHERE num = ?", num)
}

// line reads a transcript line; its delivery state is kept beside it.
func line(body, delivery string) (conversation.Line, error) {
	l, err := record.Decode[conversation.Line](body)
	l.Delivery = delivery
	return l, err
}
