package redis

import (
	"context"
	_ "embed"
	"fmt"

	goredis "github.com/redis/go-redis/v9"

	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
)

//go:embed lua/bare.lua
var bareLua string

// Bare is what turns are measured against, and is for nothing else: a read, then one
// script that writes a state, lines, an outbox row, a reminder and a mark of a turn's size
// in the plainest way, over the same connections. It keeps nothing of the contract.
type Bare struct {
	s       *Store
	script  *script
	payload []string // state, lines, reminder
}

// OpenBare opens it beside a store; sample is the turn whose size is written each time. Its
// options must name keys that nothing else uses.
func OpenBare(ctx context.Context, address string, o Options, sample store.Turn) (*Bare, error) {
	t, err := record.Normal(sample)
	if err != nil {
		return nil, err
	}
	if len(t.Effects.Lines) == 0 || len(t.Effects.Remind) == 0 {
		return nil, fmt.Errorf("%w: a sample says something and sets a reminder", record.ErrTurn)
	}
	b := &Bare{script: newScript(bareLua)}
	words := []any{t.State, t.Effects.Remind[0]}
	for _, l := range t.Effects.Lines {
		words = append(words, l)
	}
	for _, w := range words {
		body, err := record.Encode(w)
		if err != nil {
			return nil, err
		}
		b.payload = append(b.payload, body)
	}
	b.s, err = Open(ctx, address, o)
	return b, err
}

// Turn reads and writes once; n must be new each time.
func (b *Bare) Turn(ctx context.Context, tub, n int64) error {
	part := b.s.layout.base(partition(tub % int64(b.s.layout.partitions)))
	of := part + number(tub) + ":"
	if _, err := b.s.do(ctx, &call{words: []any{"HGET", of + "state", "state"}}); err != nil {
		return err
	}
	keys := []string{part + "SM0123456789abcdef" + number(n), of + "state", of + "lines", part + "bareout", part + "baredue"}
	args := append([]string{number(n)}, b.payload...)
	_, err := b.s.run(ctx, b.script, true, keys, args...)
	return err
}

// Close ends it.
func (b *Bare) Close() error { return b.s.Close() }

// Erase deletes every key of the store, for measurements that leave nothing behind.
func (s *Store) Erase(ctx context.Context) error {
	return s.scan(ctx, "*", func(ctx context.Context, c *goredis.Client, keys []string) error {
		_, err := c.Pipelined(ctx, func(p goredis.Pipeliner) error {
			for _, key := range keys { // one by one: in a cluster they are of many slots
				p.Unlink(ctx, key)
			}
			return nil
		})
		return err
	})
}
