package move

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"hash"
	"slices"
	"time"

	"tubhand/internal/store"
)

// documents moves a shop's documents, expired ones too, and then reads both sides and
// compares. The zero time is before all ends, so nothing expires on the way.
func (m *mover) documents(ctx context.Context, from Store, sum hash.Hash) error {
	err := eachPage(ctx, from, m.shop, func(list []store.Document) error {
		for _, d := range list {
			d.Version = 0
			if err := m.to.PutDocument(ctx, m.shop, d, time.Time{}); err != nil && !errors.Is(err, store.ErrConflict) {
				return fmt.Errorf("document %s %q: %w", d.Kind, d.Key, err)
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	for last := (store.Document{}); ; {
		list, err1 := from.AllDocuments(ctx, m.shop, last.Kind, last.Key, page)
		there, err2 := m.to.AllDocuments(ctx, m.shop, last.Kind, last.Key, page)
		if err := errors.Join(err1, err2); err != nil {
			return err
		}
		if err := same(sum, "documents", plainDocuments(list), plainDocuments(there)); err != nil {
			return err
		}
		m.report.Documents += len(list)
		if len(list) == 0 {
			return nil
		}
		last = list[len(list)-1]
	}
}

func eachPage(ctx context.Context, from Store, shop string, do func([]store.Document) error) error {
	for last := (store.Document{}); ; {
		list, err := from.AllDocuments(ctx, shop, last.Kind, last.Key, page)
		if err != nil || len(list) == 0 {
			return err
		}
		if err := do(list); err != nil {
			return err
		}
		last = list[len(list)-1]
	}
}

// audit moves a shop's audit entries. What is there of an earlier run must be how the
// source begins.
func (m *mover) audit(ctx context.Context, from Store, sum hash.Hash) error {
	for here, beyond := int64(0), int64(0); ; {
		list, err := from.AuditFrom(ctx, m.shop, here, page)
		if err != nil {
			return err
		}
		there, err := m.to.AuditFrom(ctx, m.shop, beyond, max(len(list), 1))
		if err == nil && len(there) < len(list) {
			if err := m.to.AppendAudit(ctx, m.shop, list[len(there):]...); err != nil {
				return err
			}
			there, err = m.to.AuditFrom(ctx, m.shop, beyond, len(list))
		}
		if err != nil {
			return err
		}
		if err := same(sum, "audit entries", plainEntries(list), plainEntries(there)); err != nil {
			return err
		}
		m.report.Audit += len(list)
		if len(list) == 0 {
			return nil
		}
		here, beyond = list[len(list)-1].Num, there[len(there)-1].Num
	}
}

// same compares two lists by what is written of them, and adds it to the sum.
func same[T any](sum hash.Hash, what string, list, there []T) error {
	one, err1 := json.Marshal(list)
	other, err2 := json.Marshal(there)
	if err := errors.Join(err1, err2); err != nil {
		return err
	}
	if !slices.Equal(one, other) {
		return fmt.Errorf("%w: the %s there are not those that were to be moved; move into an empty store", ErrDiffers, what)
	}
	if len(list) > 0 {
		sum.Write(one)
	}
	return nil
}

func plainDocuments(list []store.Document) []store.Document {
	list = slices.Clone(list)
	for i := range list {
		list[i].Version = 0
	}
	return list
}

func plainEntries(list []store.AuditEntry) []store.AuditEntry {
	list = slices.Clone(list)
	for i := range list {
		list[i].Num = 0
	}
	return list
}
