package redis

import (
	"context"
	_ "embed"
	"fmt"
	"net/url"
	"strconv"
	"strings"
	"time"

	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
)

//go:embed lua/document.lua
var documentLua string

//go:embed lua/documents.lua
var documentsLua string

// shelfKeys are the keys of a shop's documents and audit, in the shop's own partition.
type shelfKeys struct{ documents, order, ends, audit, gone, done string }

func (s *Store) shelf(shop string) shelfKeys {
	base, name := s.layout.base(s.layout.of(shop)), url.QueryEscape(shop)
	key := func(kind string) string { return base + kind + ":" + name }
	return shelfKeys{
		documents: key("docs"), order: key("docsorder"), ends: key("docsends"),
		audit: key("audit"), gone: key("auditgone"), done: key("done") + ":",
	}
}

// repeated is how long it is kept that a call was done, for a client that repeats it
// because its answer got lost.
const repeated = "120000"

// placeOf is where a document stands among all of a shop.
func placeOf(kind, key string) string { return kind + "\x00" + key }

// document reads one from its place and element, as document.lua writes it.
func document(place, element string) (d store.Document, err error) {
	d.Kind, d.Key, _ = strings.Cut(place, "\x00")
	version, rest, _ := strings.Cut(element, "\n")
	ends, value, ok := strings.Cut(rest, "\n")
	v, err1 := strconv.ParseInt(version, 10, 64)
	ms, err2 := strconv.ParseInt(ends, 10, 64)
	if !ok || err1 != nil || err2 != nil {
		return d, fmt.Errorf("redis: document %s %q is not as it was written", d.Kind, d.Key)
	}
	d.Version, d.Expires, d.Value = v, record.Expires(ms), []byte(value)
	return d, nil
}

// Document implements store.Documents.
func (s *Store) Document(ctx context.Context, shop, kind, key string, now time.Time) (store.Document, error) {
	reply, err := s.do(ctx, &call{words: []any{"HGET", s.shelf(shop).documents, placeOf(kind, key)}})
	if err != nil {
		return store.Document{}, err
	}
	element, ok := reply.(string)
	if !ok {
		return store.Document{}, store.ErrNotFound
	}
	d, err := document(placeOf(kind, key), element)
	if err == nil && !d.Expires.IsZero() && record.Expiry(d.Expires) <= record.Moment(now) {
		return store.Document{}, store.ErrNotFound
	}
	return d, err
}

// PutDocument implements store.Documents.
func (s *Store) PutDocument(ctx context.Context, shop string, d store.Document, now time.Time) error {
	if err := record.CheckDocument(shop, d); err != nil {
		return err
	}
	return s.changeDocument(ctx, shop, "put", placeOf(d.Kind, d.Key), now, number(d.Version), number(record.Expiry(d.Expires)), string(d.Value))
}

// DeleteDocument implements store.Documents.
func (s *Store) DeleteDocument(ctx context.Context, shop, kind, key string, now time.Time) error {
	return s.changeDocument(ctx, shop, "delete", placeOf(kind, key), now, "", "", "")
}

func (s *Store) changeDocument(ctx context.Context, shop, act, place string, now time.Time, version, ends, value string) error {
	k := s.shelf(shop)
	reply, err := s.run(ctx, s.scripts.document, true, []string{k.done + s.nonce(), k.documents, k.order, k.ends},
		act, place, number(record.Moment(now)), version, ends, value, repeated)
	switch {
	case err != nil:
		return err
	case reply == "conflict":
		return store.ErrConflict
	case reply == "missing":
		return store.ErrNotFound
	}
	return nil
}

// Documents implements store.Documents.
func (s *Store) Documents(ctx context.Context, shop, kind, after string, n int, now time.Time) ([]store.Document, error) {
	return s.documents(ctx, shop, "("+placeOf(kind, after), "("+kind+"\x01", n, number(record.Moment(now)))
}

// AllDocuments implements store.ListedDocuments.
func (s *Store) AllDocuments(ctx context.Context, shop, kind, key string, n int) ([]store.Document, error) {
	return s.documents(ctx, shop, "("+placeOf(kind, key), "+", n, "")
}

func (s *Store) documents(ctx context.Context, shop, after, end string, n int, now string) (list []store.Document, err error) {
	k := s.shelf(shop)
	reply, err := s.run(ctx, s.scripts.documents, false, []string{k.documents, k.order}, after, end, strconv.Itoa(record.Limit(n, store.MostListed)), now)
	if err != nil {
		return nil, err
	}
	found := texts(reply)
	for i := 0; i+1 < len(found); i += 2 {
		d, err := document(found[i], found[i+1])
		if err != nil {
			return nil, err
		}
		list = append(list, d)
	}
	return list, nil
}
