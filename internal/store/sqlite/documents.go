package sqlite

import (
	"context"
	"database/sql/driver"
	"time"

	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
)

// live picks documents that have not expired; its parameter is the time.
const live = "(expires = 0 OR expires > ?)"

// ofShop picks what belongs to the shop with a key.
const ofShop = "shop = (SELECT num FROM shop WHERE key = ?)"

const documentColumns = "SELECT kind, key, version, expires, value FROM document WHERE " + ofShop

func readDocument(row []driver.Value) (store.Document, error) {
	value, _ := row[4].([]byte)
	return store.Document{
		Kind: text(row[0]), Key: text(row[1]), Version: integer(row[2]), Expires: record.Expires(integer(row[3])),
		Value: append([]byte{}, value...),
	}, nil
}

// Document implements store.Documents.
func (s *Store) Document(ctx context.Context, shop, kind, key string, now time.Time) (store.Document, error) {
	found, err := list(view{s: s, ctx: ctx, shop: shop}, readDocument,
		documentColumns+" AND kind = ? AND key = ? AND "+live, shop, kind, key, record.Moment(now))
	if err == nil && len(found) == 0 {
		err = store.ErrNotFound
	}
	if err != nil {
		return store.Document{}, err
	}
	return found[0], nil
}

// forgotten is how many expired documents a write takes away with it, so that they go as
// fast as new ones come and no write takes long.
const forgotten = int64(8)

// PutDocument implements store.Documents.
func (s *Store) PutDocument(ctx context.Context, shop string, d store.Document, now time.Time) error {
	if err := record.CheckDocument(shop, d); err != nil {
		return err
	}
	if d.Value == nil {
		d.Value = []byte{}
	}
	at := record.Moment(now)
	return s.do(ctx, func(w *writer) error { return w.putDocument(shop, d, at) })
}

func (w *writer) putDocument(shop string, d store.Document, at int64) error {
	sh, err := w.shop(shop)
	if err != nil {
		return err
	}
	version, _, err := w.c.number("SELECT version FROM document WHERE shop = ? AND kind = ? AND key = ? AND "+live, sh.num, d.Kind, d.Key, at)
	if err != nil {
		return err
	}
	if version != d.Version {
		return store.ErrConflict
	}
	_, err = w.c.exec(`INSERT INTO document (shop, kind, key, version, expires, value) VALUES (?, ?, ?, ?, ?, ?)
		ON CONFLICT (shop, kind, key) DO UPDATE SET version = excluded.version, expires = excluded.expires, value = excluded.value`,
		sh.num, d.Kind, d.Key, d.Version+1, record.Expiry(d.Expires), d.Value)
	if err != nil {
		return err
	}
	_, err = w.c.exec("DELETE FROM document WHERE num IN (SELECT num FROM document WHERE expires > 0 AND expires <= ? ORDER BY expires LIMIT ?)", at, forgotten)
	return err
}

// DeleteDocument implements store.Documents.
func (s *Store) DeleteDocument(ctx context.Context, shop, kind, key string, now time.Time) error {
	at := record.Moment(now)
	return s.do(ctx, func(w *writer) error {
		n, err := w.c.exec("DELETE FROM document WHERE "+ofShop+" AND kind = ? AND key = ? AND "+live, shop, kind, key, at)
		if err == nil && n == 0 {
			err = store.ErrNotFound
		}
		return err
	})
}

// Documents implements store.Documents.
func (s *Store) Documents(ctx context.Context, shop, kind, after string, n int, now time.Time) ([]store.Document, error) {
	return list(view{s: s, ctx: ctx, shop: shop}, readDocument,
		documentColumns+" AND kind = ? AND key > ? AND "+live+" ORDER BY key LIMIT ?",
		shop, kind, after, record.Moment(now), int64(record.Limit(n, store.MostListed)))
}

// AllDocuments implements store.ListedDocuments.
func (s *Store) AllDocuments(ctx context.Context, shop, kind, key string, n int) ([]store.Document, error) {
	return list(view{s: s, ctx: ctx, shop: shop}, readDocument,
		documentColumns+" AND (kind, key) > (?, ?) ORDER BY kind, key LIMIT ?",
		shop, kind, key, int64(record.Limit(n, store.MostListed)))
}
