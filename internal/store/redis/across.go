package redis

import (
	"context"
	_ "embed"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
)

//go:embed lua/sought.lua
var soughtLua string

//go:embed lua/find.lua
var findLua string

//go:embed lua/fill.lua
var fillLua string

// sought is what a conversation is found by, in one line.
func sought(c *conversation.Conversation) string {
	return strings.ReplaceAll(record.Sought(c), "\n", "\t")
}

// blocksLooked is how many blocks of 128 conversations one script looks at, since nothing else
// happens in the shop's slot meanwhile; and scriptsLooked how many scripts one Find runs.
const (
	blocksLooked  = 200
	scriptsLooked = 5
)

// Find implements store.Across. Between its scripts conversations may change.
func (v view) Find(query string, n int, after string) (cards []store.Card, next string, err error) {
	if after != "" {
		if _, err := strconv.ParseInt(after, 10, 64); err != nil {
			return nil, "", fmt.Errorf("%w: go on after %.40q; give what an earlier answer said", store.ErrRefused, after)
		}
	}
	if err := v.s.fill(v.ctx, v.keys); err != nil {
		return nil, "", err
	}
	n, next = record.Limit(n, 500), after
	words := record.Words(query)
	for range scriptsLooked {
		if len(cards) == n {
			break
		}
		some, on, err := v.find(words, n-len(cards), next)
		if err != nil {
			return nil, "", err
		}
		cards = append(cards, some...)
		if next = on; next == "" {
			break
		}
	}
	return cards, next, nil
}

func (v view) find(words []string, n int, after string) (cards []store.Card, next string, err error) {
	args := append([]string{after, strconv.Itoa(n), strconv.Itoa(blocksLooked)}, words...)
	reply, err := v.s.run(v.ctx, v.s.scripts.find, false, []string{v.keys.find, v.keys.hash}, args...)
	if err != nil {
		return nil, "", err
	}
	list := texts(reply)
	if len(list) == 0 {
		return nil, "", fmt.Errorf("redis: find answered %v", reply)
	}
	for i := 1; i+2 < len(list); i += 3 {
		c, err := card(list[i], list[i+1], list[i+2])
		if err != nil {
			return nil, "", err
		}
		cards = append(cards, c)
	}
	return cards, list[0], nil
}

// fill writes what conversations are found by that a program from before that was kept has
// left, once for each shop and process.
func (s *Store) fill(ctx context.Context, k *shopKeys) error {
	if _, done := s.filled.Load(k.name); done {
		return s.open(ctx)
	}
	reply, err := s.do(ctx, &call{words: []any{"HGET", k.find, "c"}})
	if err != nil {
		return err
	}
	counts, err := s.View(ctx, k.name).Counts()
	if err != nil {
		return err
	}
	if found, _ := reply.(string); found != number(counts.Conversations) && counts.Conversations > 0 {
		if err := s.fillAll(ctx, k); err != nil {
			return fmt.Errorf("redis: make conversations of shop %q known by name and number: %w", k.name, err)
		}
	}
	s.filled.Store(k.name, true)
	return nil
}

func (s *Store) fillAll(ctx context.Context, k *shopKeys) error {
	const page = 200
	for skip := 0; ; skip += page {
		list, err := s.Listed(ctx, k.name, skip, page)
		if err != nil {
			return err
		}
		var args []string
		for _, l := range list {
			c, err := s.View(ctx, k.name).Conversation(l.ID)
			if err != nil {
				return err
			}
			args = append(args, c.ID, sought(&c))
		}
		if len(args) > 0 {
			if _, err := s.run(ctx, s.scripts.fill, true, []string{k.find, k.hash}, args...); err != nil {
				return err
			}
		}
		if len(list) < page {
			return nil
		}
	}
}

// Upcoming implements store.Across. A partition's reminders are in one order; those of other
// shops in it are passed over.
func (v view) Upcoming(from, until time.Time, n int) (out []store.Coming, err error) {
	const page = 500
	n = record.Limit(n, 500)
	first, end := number(record.Milli(from)), "("+number(record.Milli(until))
	var list []conversation.Reminder
	for skip := 0; len(list) < n; skip += page {
		reply, err := v.s.do(v.ctx, &call{words: []any{"ZRANGEBYSCORE", v.keys.due, first, end, "LIMIT", skip, page}})
		if err != nil {
			return nil, err
		}
		members := texts(reply)
		for _, m := range members {
			body, ours := strings.CutPrefix(m, v.keys.name+"\n")
			if !ours {
				continue
			}
			r, err := record.Decode[conversation.Reminder](body)
			if err != nil {
				return nil, err
			}
			if !r.Due.Before(from) { // else it is leased: its place is not its time
				list = append(list, r)
			}
		}
		if len(members) < page {
			break
		}
	}
	record.EarliestFirst(list)
	return v.withStates(slices.Clip(list[:min(len(list), n)]))
}

// withStates reads the conversation of each reminder; one that is gone meanwhile is left out.
func (v view) withStates(list []conversation.Reminder) (out []store.Coming, err error) {
	if len(list) == 0 {
		return nil, nil
	}
	words := []any{"HMGET", v.keys.hash}
	for _, r := range list {
		words = append(words, "s"+r.Conversation)
	}
	reply, err := v.s.do(v.ctx, &call{words: words})
	if err != nil {
		return nil, err
	}
	for i, written := range texts(reply) {
		if written == "" {
			continue
		}
		c, _, err := state(written)
		if err != nil {
			return nil, err
		}
		out = append(out, store.Coming{Reminder: list[i], State: c})
	}
	return out, nil
}
