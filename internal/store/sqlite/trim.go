package sqlite

import (
	"context"
	"database/sql/driver"
	"fmt"
	"strconv"
	"time"

	"tubhand/internal/store/internal/record"
)

// TrimTranscripts implements store.Rights. It goes through lines in the order in which
// they came, of all shops: a reader finds the old ones, and only those are the writer's.
func (s *Store) TrimTranscripts(ctx context.Context, shop string, before time.Time, after string, n int) (gone int, next string, err error) {
	num, known := s.shared.shops.of(shop)
	if !known {
		return 0, "", s.open(ctx)
	}
	from := int64(0)
	if after != "" {
		if from, err = strconv.ParseInt(after, 10, 64); err != nil {
			return 0, "", fmt.Errorf("go on after %q: %w; give what an earlier call returned", after, err)
		}
	}
	old, last, err := s.oldLines(ctx, num, before, from, max(n, 1))
	if err != nil {
		return 0, "", err
	}
	if last > 0 {
		next = strconv.FormatInt(last, 10)
	}
	if len(old) == 0 {
		return 0, next, nil
	}
	err = s.doFlushed(ctx, func(w *writer) error {
		gone = 0
		for _, num := range old {
			if err := w.dropLine(shop, num); err != nil {
				return err
			}
			gone++
		}
		return nil
	})
	return gone, next, err
}

// oldLines looks at n lines after a number; last is 0 when there are no more.
func (s *Store) oldLines(ctx context.Context, shop int64, before time.Time, after int64, n int) (old []int64, last int64, err error) {
	seen := 0
	err = s.read(ctx, func(r *reader) error {
		return r.rows(func(v []driver.Value) error {
			seen++
			last = integer(v[0])
			at, err := time.Parse(time.RFC3339Nano, text(v[3]))
			if err != nil {
				return fmt.Errorf("line %d has no time: %w", last, err)
			}
			if integer(v[1]) == shop && text(v[2]) != record.Queued && at.Before(before) {
				old = append(old, last)
			}
			return nil
		}, `SELECT l.num, c.shop, l.delivery, json_extract(l.body, '$.at')
			FROM line l JOIN conversation c ON c.num = l.conversation WHERE l.num > ? ORDER BY l.num LIMIT ?`, after, int64(n))
	})
	if seen < n {
		last = 0
	}
	return old, last, err
}

// dropLine removes one line, unless it has been put back into the outbox or erased
// meanwhile. Where it was a conversation's last, the conversation has none.
func (w *writer) dropLine(shop string, num int64) error {
	id, shopNum := "", int64(0)
	err := w.c.rows(func(v []driver.Value) error {
		shopNum, id = integer(v[0]), text(v[1])
		return nil
	}, "SELECT c.shop, c.id FROM line l JOIN conversation c ON c.num = l.conversation WHERE l.num = ? AND l.delivery <> 'queued'", num)
	if err != nil || id == "" {
		return err
	}
	r, err := w.find(shopNum, id)
	if err != nil {
		return err
	}
	if _, err := w.c.exec("DELETE FROM line WHERE num = ?", num); err != nil {
		return err
	}
	w.changed(shop, id)
	if r.line != num && r.said != num {
		return nil
	}
	if r.line == num {
		r.line = 0
	}
	if r.said == num {
		r.said = 0
	}
	w.fresh[rowKey{shopNum, id}] = r
	_, err = w.c.exec("UPDATE conversation SET line = ?, said = ? WHERE num = ?", r.line, r.said, r.num)
	return err
}

// TrimHandovers implements store.Rights.
func (s *Store) TrimHandovers(ctx context.Context, shop string, before time.Time, n int) (gone int, err error) {
	err = s.do(ctx, func(w *writer) error {
		k, err := w.c.exec(`DELETE FROM handover WHERE (shop, id) IN (SELECT shop, id FROM handover
			WHERE shop = (SELECT num FROM shop WHERE key = ?) AND closed IS NOT NULL AND closed < ? ORDER BY closed LIMIT ?)`,
			shop, record.Milli(before), int64(max(n, 0)))
		gone = int(k)
		return err
	})
	return gone, err
}
