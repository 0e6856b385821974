package sqlite

import (
	"context"
	"database/sql/driver"
	"math"
	"time"

	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
)

// AppendAudit implements store.Audit.
func (s *Store) AppendAudit(ctx context.Context, shop string, entries ...store.AuditEntry) error {
	if err := record.CheckEntries(shop, entries); err != nil {
		return err
	}
	var written []string
	for _, e := range entries {
		body, err := record.EncodeEntry(e)
		if err != nil {
			return err
		}
		written = append(written, body)
	}
	return s.do(ctx, func(w *writer) error {
		sh, err := w.shop(shop)
		if err != nil {
			return err
		}
		for i, body := range written {
			if _, err := w.c.exec("INSERT INTO audit (shop, at, body) VALUES (?, ?, ?)", sh.num, record.Milli(entries[i].At), body); err != nil {
				return err
			}
		}
		return nil
	})
}

func readEntry(row []driver.Value) (store.AuditEntry, error) {
	return record.Entry(integer(row[0]), integer(row[1]), text(row[2]))
}

// Audit implements store.Audit.
func (s *Store) Audit(ctx context.Context, shop string, before int64, n int) ([]store.AuditEntry, error) {
	if before == 0 {
		before = math.MaxInt64
	}
	return list(view{s: s, ctx: ctx, shop: shop}, readEntry,
		"SELECT num, at, body FROM audit WHERE "+ofShop+" AND num < ? ORDER BY num DESC LIMIT ?",
		shop, before, int64(record.Limit(n, store.MostListed)))
}

// AuditFrom implements store.ListedDocuments.
func (s *Store) AuditFrom(ctx context.Context, shop string, after int64, n int) ([]store.AuditEntry, error) {
	return list(view{s: s, ctx: ctx, shop: shop}, readEntry,
		"SELECT num, at, body FROM audit WHERE "+ofShop+" AND num > ? ORDER BY num LIMIT ?",
		shop, after, int64(record.Limit(n, store.MostListed)))
}

// trimmed is how many audit entries one step of trimming looks at, so that no turn waits
// for long.
const trimmed = 1000

// TrimAudit implements store.Audit.
func (s *Store) TrimAudit(ctx context.Context, shop string, before time.Time) (int, error) {
	total := 0
	for {
		var n int64
		err := s.do(ctx, func(w *writer) (err error) {
			n, err = w.trimAudit(shop, record.Milli(before))
			return err
		})
		total += int(n)
		if err != nil || n < trimmed {
			return total, err
		}
	}
}

// trimAudit is one step.
func (w *writer) trimAudit(shop string, before int64) (int64, error) {
	end := int64(0)
	err := w.c.walk(func(row []driver.Value) error {
		if integer(row[1]) >= before {
			return errEnough
		}
		end = integer(row[0])
		return nil
	}, "SELECT num, at FROM audit WHERE "+ofShop+" ORDER BY num LIMIT ?", shop, int64(trimmed))
	if err != nil || end == 0 {
		return 0, err
	}
	return w.c.exec("DELETE FROM audit WHERE "+ofShop+" AND num <= ?", shop, end)
}
