package memory

import (
	"bytes"
	"cmp"
	"context"
	"slices"
	"time"

	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
)

// shelf is what is kept of a shop beside its conversations.
type shelf struct {
	documents map[place]store.Document
	audit     []store.AuditEntry
	told      int64 // entries that were ever told
}

// place is where a document stands.
type place struct{ kind, key string }

func (p place) compare(q place) int {
	return cmp.Or(cmp.Compare(p.kind, q.kind), cmp.Compare(p.key, q.key))
}

// shelf runs do with a shop's shelf under the lock.
func (s *Store) shelf(ctx context.Context, shopKey string, do func(sh *shelf) error) error {
	return s.change(ctx, func() ([]store.Change, error) {
		sh := s.shelves[shopKey]
		if sh == nil {
			sh = &shelf{documents: make(map[place]store.Document)}
			if s.shelves == nil {
				s.shelves = make(map[string]*shelf)
			}
			s.shelves[shopKey] = sh
		}
		return nil, do(sh)
	})
}

// find gives a document unless it has expired; what has is forgotten.
func (sh *shelf) find(at place, now time.Time) (store.Document, bool) {
	d, ok := sh.documents[at]
	if ok && !d.Expires.IsZero() && record.Expiry(d.Expires) <= record.Moment(now) {
		delete(sh.documents, at)
		return store.Document{}, false
	}
	return d, ok
}

// Document implements store.Documents.
func (s *Store) Document(ctx context.Context, shop, kind, key string, now time.Time) (found store.Document, err error) {
	err = s.shelf(ctx, shop, func(sh *shelf) error {
		d, ok := sh.find(place{kind, key}, now)
		if !ok {
			return store.ErrNotFound
		}
		found = copyOf(d)
		return nil
	})
	return found, err
}

func copyOf(d store.Document) store.Document {
	d.Value = bytes.Clone(d.Value)
	return d
}

// PutDocument implements store.Documents.
func (s *Store) PutDocument(ctx context.Context, shop string, d store.Document, now time.Time) error {
	if err := record.CheckDocument(shop, d); err != nil {
		return err
	}
	return s.shelf(ctx, shop, func(sh *shelf) error {
		at := place{d.Kind, d.Key}
		if there, _ := sh.find(at, now); there.Version != d.Version {
			return store.ErrConflict
		}
		for other := range sh.documents {
			sh.find(other, now) // to forget what has expired
		}
		d := copyOf(d)
		d.Version++
		d.Expires = record.Expires(record.Expiry(d.Expires))
		if d.Value == nil {
			d.Value = []byte{}
		}
		sh.documents[at] = d
		return nil
	})
}

// DeleteDocument implements store.Documents.
func (s *Store) DeleteDocument(ctx context.Context, shop, kind, key string, now time.Time) error {
	return s.shelf(ctx, shop, func(sh *shelf) error {
		at := place{kind, key}
		if _, ok := sh.find(at, now); !ok {
			return store.ErrNotFound
		}
		delete(sh.documents, at)
		return nil
	})
}

// Documents implements store.Documents.
func (s *Store) Documents(ctx context.Context, shop, kind, after string, n int, now time.Time) (list []store.Document, err error) {
	err = s.shelf(ctx, shop, func(sh *shelf) error {
		for at := range sh.documents {
			if at.kind != kind || at.key <= after {
				continue
			}
			if d, ok := sh.find(at, now); ok {
				list = append(list, copyOf(d))
			}
		}
		return nil
	})
	return firstOf(list, n), err
}

func firstOf(list []store.Document, n int) []store.Document {
	slices.SortFunc(list, func(a, b store.Document) int { return place{a.Kind, a.Key}.compare(place{b.Kind, b.Key}) })
	return list[:min(len(list), record.Limit(n, store.MostListed))]
}

// AllDocuments implements store.ListedDocuments.
func (s *Store) AllDocuments(ctx context.Context, shop, kind, key string, n int) (list []store.Document, err error) {
	err = s.shelf(ctx, shop, func(sh *shelf) error {
		for at, d := range sh.documents {
			if at.compare(place{kind, key}) > 0 {
				list = append(list, copyOf(d))
			}
		}
		return nil
	})
	return firstOf(list, n), err
}
