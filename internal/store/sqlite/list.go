package sqlite

import (
	"context"
	"database/sql/driver"

	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
)

// Shops lists the keys of all shops that have conversations, documents, audit entries or counts.
func (s *Store) Shops(ctx context.Context) (keys []string, err error) {
	err = s.read(ctx, func(r *reader) error {
		return r.rows(func(v []driver.Value) error {
			keys = append(keys, text(v[0]))
			return nil
		}, `SELECT key FROM shop WHERE conversations > 0 OR EXISTS (SELECT 1 FROM document WHERE shop = shop.num)
			OR EXISTS (SELECT 1 FROM audit WHERE shop = shop.num) OR EXISTS (SELECT 1 FROM tally WHERE shop = shop.num) ORDER BY key`)
	})
	return keys, err
}

// Listed lists up to limit of a shop's conversations, those changed first first, from the
// skip-th on.
func (s *Store) Listed(ctx context.Context, shop string, skip, limit int) ([]store.Listed, error) {
	return list(view{s: s, ctx: ctx, shop: shop}, func(row []driver.Value) (store.Listed, error) {
		return store.Listed{ID: text(row[0]), Changed: record.Time(integer(row[1]))}, nil
	}, `SELECT id, changed FROM conversation WHERE shop = (SELECT num FROM shop WHERE key = ?)
		ORDER BY changed, num LIMIT ? OFFSET ?`, shop, int64(limit), int64(skip))
}
