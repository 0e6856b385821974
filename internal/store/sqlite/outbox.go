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
	err = s.do(ctx, func(w *writer) error {
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

// head is the first message of a conversation's queue.
type head struct {
	num, attempt         int64
	shop, delivery, body string
}

func (w *writer) claimOutbox(now, until int64, n int) (heads []head, err error) {
	err = w.c.rows(func(r []driver.Value) error {
		heads = append(heads, head{integer(r[0]), integer(r[1]), text(r[2]), text(r[3]), text(r[4])})
		return nil
	}, `SELECT o.num, o.attempt, (SELECT key FROM shop WHERE num = l.shop), l.delivery, l.body
		FROM outbox o JOIN line l ON l.num = o.num
		WHERE o.place IS NOT NULL AND o.place <= ? ORDER BY o.place, o.num LIMIT ?`, now, int64(max(n, 0)))
	if err != nil {
		return nil, err
	}
	for _, h := range heads {
		if _, err := w.c.exec("UPDATE outbox SET place = ?, attempt = attempt + 1 WHERE num = ?", until, h.num); err != nil {
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
	return s.do(ctx, func(w *writer) error {
		for _, r := range results {
			if err := w.settle(r); err != nil {
				return err
			}
		}
		return nil
	})
}

func (w *writer) settle(r store.Result) error {
	sh, ok, err := w.known(r.Shop)
	if err != nil || !ok {
		return err
	}
	num, delivery, err := w.lineOf(sh.num, r.Line)
	if err != nil || num == 0 {
		return err
	}
	if err := w.changedAt(r.Shop, num); err != nil {
		return err
	}
	if r.Kind == store.Retry {
		_, err := w.c.exec("UPDATE outbox SET place = ? WHERE num = ? AND place IS NOT NULL", record.Milli(r.Next), num)
		return err
	}
	left, err := w.leave(sh, num)
	if err != nil || !left && r.Kind == store.Failed {
		return err
	}
	return w.advance(num, delivery, r.Kind) // kinds are named as the states they lead to
}

// Delivered implements store.Store.
func (s *Store) Delivered(ctx context.Context, shop, id, state string) error {
	if err := record.CheckReport(state); err != nil {
		return err
	}
	return s.do(ctx, func(w *writer) error {
		sh, ok, err := w.known(shop)
		if err != nil {
			return err
		}
		if !ok {
			return store.ErrNotFound
		}
		num, delivery, err := w.lineOf(sh.num, id)
		if err != nil {
			return err
		}
		if num == 0 {
			return store.ErrNotFound
		}
		if _, err := w.leave(sh, num); err != nil {
			return err
		}
		if err := w.changedAt(shop, num); err != nil {
			return err
		}
		return w.advance(num, delivery, state)
	})
}

// lineOf finds a line that is sent; num is 0 when there is none.
func (w *writer) lineOf(shop int64, id string) (num int64, delivery string, err error) {
	err = w.c.rows(func(r []driver.Value) error {
		num, delivery = integer(r[0]), text(r[1])
		return nil
	}, "SELECT num, delivery FROM line WHERE shop = ? AND id = ?", shop, id)
	return num, delivery, err
}

// leave takes a line out of the outbox and lets the conversation's next one go.
func (w *writer) leave(sh *tally, num int64) (bool, error) {
	n, err := w.c.exec("DELETE FROM outbox WHERE num = ?", num)
	if err != nil || n == 0 {
		return false, err
	}
	sh.add.Outbox--
	first := num >> room << room
	_, err = w.c.exec(`UPDATE outbox SET place = fresh WHERE place IS NULL
		AND num = (SELECT min(num) FROM outbox WHERE num >= ? AND num < ?)`, first, first+1<<room)
	return true, err
}

func (w *writer) advance(num int64, from, to string) error {
	if !record.Forward(from, to) {
		return nil
	}
	_, err := w.c.exec("UPDATE line SET delivery = ? WHERE num = ?", to, num)
	return err
}

// dropUnsent empties a conversation's queue.
func (w *writer) dropUnsent(sh *tally, num int64) error {
	first, end := num<<room, (num+1)<<room
	_, err := w.c.exec(`UPDATE line SET delivery = ? WHERE delivery = ?
		AND num IN (SELECT num FROM outbox WHERE num >= ? AND num < ?)`, record.Dropped, record.Queued, first, end)
	if err != nil {
		return err
	}
	n, err := w.c.exec("DELETE FROM outbox WHERE num >= ? AND num < ?", first, end)
	sh.add.Outbox -= n
	return err
}

// changedAt notes a change of the conversation that a line belongs to.
func (w *writer) changedAt(shop string, num int64) error {
	if !w.hub.Watched() {
		return nil
	}
	return w.c.rows(func(r []driver.Value) error {
		w.changed(shop, text(r[0]))
		return nil
	}, "SELECT id FROM conversation WHERE num = ?", num>>room)
}

// line reads a transcript line; its delivery state is kept beside it.
func line(body, delivery string) (conversation.Line, error) {
	l, err := record.Decode[conversation.Line](body)
	l.Delivery = delivery
	return l, err
}
