package memory

import (
	"context"
	"slices"
	"sort"
	"time"

	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
)

// AppendAudit implements store.Audit.
func (s *Store) AppendAudit(ctx context.Context, shop string, entries ...store.AuditEntry) error {
	if err := record.CheckEntries(shop, entries); err != nil {
		return err
	}
	return s.shelf(ctx, shop, func(sh *shelf) error {
		for _, e := range entries {
			sh.told++
			e.Num, e.At = sh.told, record.Time(record.Milli(e.At))
			sh.audit = append(sh.audit, e)
		}
		return nil
	})
}

// from is the index of the first entry with at least this number.
func (sh *shelf) from(num int64) int {
	return sort.Search(len(sh.audit), func(i int) bool { return sh.audit[i].Num >= num })
}

// Audit implements store.Audit.
func (s *Store) Audit(ctx context.Context, shop string, before int64, n int) (list []store.AuditEntry, err error) {
	err = s.shelf(ctx, shop, func(sh *shelf) error {
		end := len(sh.audit)
		if before != 0 {
			end = sh.from(before)
		}
		list = slices.Clone(last(sh.audit[:end], record.Limit(n, store.MostListed)))
		slices.Reverse(list)
		return nil
	})
	return list, err
}

// AuditFrom implements store.ListedDocuments.
func (s *Store) AuditFrom(ctx context.Context, shop string, after int64, n int) (list []store.AuditEntry, err error) {
	err = s.shelf(ctx, shop, func(sh *shelf) error {
		rest := sh.audit[sh.from(after+1):]
		list = slices.Clone(rest[:min(len(rest), record.Limit(n, store.MostListed))])
		return nil
	})
	return list, err
}

// TrimAudit implements store.Audit.
func (s *Store) TrimAudit(ctx context.Context, shop string, before time.Time) (gone int, err error) {
	err = s.shelf(ctx, shop, func(sh *shelf) error {
		for gone < len(sh.audit) && sh.audit[gone].At.UnixMilli() < record.Milli(before) {
			gone++
		}
		sh.audit = slices.Delete(sh.audit, 0, gone)
		return nil
	})
	return gone, err
}
