package redis

import (
	"context"
	"net/url"
	"slices"
	"strings"
	"sync"

	goredis "github.com/redis/go-redis/v9"

	"tubhand/internal/store"
)

// Shops lists the keys of all shops that have conversations, documents, audit entries or counts. It
// looks at every key of the store.
func (s *Store) Shops(ctx context.Context) ([]string, error) {
	var all []string
	for _, kind := range []string{"board", "docs", "audit", "tallies"} {
		shops, err := s.shopsWith(ctx, kind)
		if err != nil {
			return nil, err
		}
		all = append(all, shops...)
	}
	slices.Sort(all)
	return slices.Compact(all), nil // a scan may give a key twice
}

// shopsWith lists the shops that have a key of a kind.
func (s *Store) shopsWith(ctx context.Context, kind string) (shops []string, err error) {
	var mu sync.Mutex
	err = s.scan(ctx, "*:"+kind+":*", func(_ context.Context, _ *goredis.Client, keys []string) error {
		mu.Lock()
		defer mu.Unlock()
		for _, key := range keys {
			_, rest, _ := strings.Cut(key, "}:") // the end of the first, which is the partition's
			name, ok := strings.CutPrefix(rest, kind+":")
			if !ok {
				continue // an event's key, that only looks like it
			}
			shop, err := url.QueryUnescape(name)
			if err != nil {
				return err
			}
			shops = append(shops, shop)
		}
		return nil
	})
	return shops, err
}

// scan goes through the store's keys that have a form, many at a time.
func (s *Store) scan(ctx context.Context, form string, do func(ctx context.Context, c *goredis.Client, keys []string) error) error {
	if err := s.open(ctx); err != nil {
		return err
	}
	one := func(ctx context.Context, c *goredis.Client) error {
		for cursor := uint64(0); ; {
			keys, next, err := c.Scan(ctx, cursor, s.layout.name+":"+form, 1000).Result()
			if err == nil && len(keys) > 0 {
				err = do(ctx, c, keys)
			}
			if err != nil || next == 0 {
				return err
			}
			cursor = next
		}
	}
	if s.link.cluster != nil {
		return explain(s.link.cluster.ForEachMaster(ctx, one))
	}
	if c, ok := s.link.client.(*goredis.Client); ok {
		return explain(one(ctx, c))
	}
	return nil
}

// Listed lists up to limit of a shop's conversations, those changed first first, from the
// skip-th on.
func (s *Store) Listed(ctx context.Context, shop string, skip, limit int) (out []store.Listed, err error) {
	if limit <= 0 {
		return nil, s.open(ctx)
	}
	k := s.shopKeys(shop)
	reply, err := s.do(ctx, &call{words: []any{"ZRANGE", k.board, skip, skip + limit - 1}})
	if err != nil {
		return nil, err
	}
	ids := texts(reply)
	if len(ids) == 0 {
		return nil, nil
	}
	words := []any{"HMGET", k.hash}
	for _, id := range ids {
		words = append(words, "s"+id)
	}
	reply, err = s.do(ctx, &call{words: words})
	if err != nil {
		return nil, err
	}
	for i, written := range texts(reply) {
		_, changed, err := state(written)
		if err != nil {
			return nil, err
		}
		out = append(out, store.Listed{ID: ids[i], Changed: changed})
	}
	return out, nil
}
