package redis

import (
	"context"
	_ "embed"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
)

//go:embed lua/audit.lua
var auditLua string

//go:embed lua/entries.lua
var entriesLua string

// AppendAudit implements store.Audit.
func (s *Store) AppendAudit(ctx context.Context, shop string, entries ...store.AuditEntry) error {
	if err := record.CheckEntries(shop, entries); err != nil {
		return err
	}
	if len(entries) == 0 {
		return s.open(ctx)
	}
	args := []string{"append", repeated}
	for _, e := range entries {
		body, err := record.EncodeEntry(e)
		if err != nil {
			return err
		}
		args = append(args, number(record.Milli(e.At))+"\n"+body)
	}
	_, err := s.changeAudit(ctx, shop, args...)
	return err
}

func (s *Store) changeAudit(ctx context.Context, shop string, args ...string) (int, error) {
	k := s.shelf(shop)
	reply, err := s.run(ctx, s.scripts.audit, true, []string{k.done + s.nonce(), k.audit, k.gone}, args...)
	if err != nil {
		return 0, err
	}
	return strconv.Atoi(fmt.Sprint(reply))
}

// Audit implements store.Audit.
func (s *Store) Audit(ctx context.Context, shop string, before int64, n int) ([]store.AuditEntry, error) {
	list, err := s.entries(ctx, shop, "before", before, n)
	slices.Reverse(list)
	return list, err
}

// AuditFrom implements store.ListedDocuments.
func (s *Store) AuditFrom(ctx context.Context, shop string, after int64, n int) ([]store.AuditEntry, error) {
	return s.entries(ctx, shop, "after", after, n)
}

func (s *Store) entries(ctx context.Context, shop, which string, num int64, n int) (list []store.AuditEntry, err error) {
	k := s.shelf(shop)
	reply, err := s.run(ctx, s.scripts.entries, false, []string{k.audit, k.gone}, which, number(num), strconv.Itoa(record.Limit(n, store.MostListed)))
	if err != nil {
		return nil, err
	}
	found := texts(reply)
	if len(found) == 0 {
		return nil, nil
	}
	first, err := strconv.ParseInt(found[0], 10, 64)
	for i, element := range found[1:] {
		at, body, _ := strings.Cut(element, "\n")
		ms, err1 := strconv.ParseInt(at, 10, 64)
		e, err2 := record.Entry(first+int64(i), ms, body)
		if err1 != nil || err2 != nil {
			return nil, fmt.Errorf("redis: audit entry %d of shop %q is not as it was written", first+int64(i), shop)
		}
		list = append(list, e)
	}
	return list, err
}

// TrimAudit implements store.Audit. It goes in steps, so that no turn waits for long.
func (s *Store) TrimAudit(ctx context.Context, shop string, before time.Time) (total int, err error) {
	const step = 1000
	for {
		n, err := s.changeAudit(ctx, shop, "trim", repeated, number(record.Milli(before)), strconv.Itoa(step))
		total += n
		if err != nil || n < step {
			return total, err
		}
	}
}
