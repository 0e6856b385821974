package sqlite

import (
	"database/sql/driver"
	"hash/fnv"

	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
)

// mark sets the event's dedupe mark and returns its number, or says that it was set
// before. Two events of one number are possible, if hardly: the later one has the next
// number. (Were the earlier forgotten first, a repeat of the later would not be known:
// two chances in 2^64 at once.)
func (w *writer) mark(shop int64, event string, now int64) (int64, error) {
	if event == "" {
		return 0, nil
	}
	for num := markNumber(shop, event); ; num++ {
		n, err := w.c.exec("INSERT INTO seen (num, shop, id, at) VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING", num, shop, event, now)
		if err != nil {
			return 0, err
		}
		if n == 1 {
			w.latest = now
			w.sweep.owed += 2
			return num, nil
		}
		_, same, err := w.c.number("SELECT 1 FROM seen WHERE num = ? AND shop = ? AND id = ?", num, shop, event)
		if err != nil {
			return 0, err
		}
		if same {
			return 0, store.ErrDuplicate
		}
	}
}

func markNumber(shop int64, event string) int64 {
	h := fnv.New64a()
	h.Write([]byte{byte(shop), byte(shop >> 8), byte(shop >> 16), byte(shop >> 24)})
	h.Write([]byte(event))
	return int64(h.Sum64() >> 2) // never at the end of the numbers, positive
}

// unmark takes a mark back, since its turn cannot be written.
func (w *writer) unmark(num int64) error {
	if num != 0 {
		if _, err := w.c.exec("DELETE FROM seen WHERE num = ?", num); err != nil {
			return err
		}
	}
	return store.ErrConflict
}

// sweep goes through all marks again and again, a few for each one set, and forgets
// those that are past their time. So marks need no order by time, and no turn waits for
// a great clearing-out.
type sweep struct {
	owed   int   // rows to look at
	at     int64 // the number looked at last
	oldest int64 // the oldest mark that this round has left
	rest   int64 // nothing is old enough before this time: the last round's finding
}

const sweepStep = 256

func (w *writer) forgetOldMarks() error {
	s := &w.sweep
	limit := w.latest - record.MarksKept.Milliseconds()
	if s.owed < sweepStep || limit < s.rest {
		return nil
	}
	s.owed = 0
	var old []int64
	n := 0
	err := w.c.rows(func(v []driver.Value) error {
		n++
		s.at = integer(v[0])
		if at := integer(v[1]); at < limit {
			old = append(old, s.at)
		} else {
			s.oldest = min(s.oldest, at)
		}
		return nil
	}, "SELECT num, at FROM seen WHERE num > ? ORDER BY num LIMIT ?", s.at, int64(sweepStep))
	if err != nil {
		return err
	}
	for _, num := range old {
		if _, err := w.c.exec("DELETE FROM seen WHERE num = ?", num); err != nil {
			return err
		}
	}
	if n < sweepStep {
		*s = sweep{at: -1, rest: s.oldest, oldest: w.latest}
	}
	return nil
}
