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

//go:embed lua/erase.lua
var eraseLua string

//go:embed lua/trim.lua
var trimLua string

//go:embed lua/closed.lua
var closedLua string

// mostMade bounds how many ids of a conversation are looked through for handovers. It has
// given out as many only after some hundred thousand texts.
const mostMade = 1 << 20

// EraseConversation implements store.Rights.
func (s *Store) EraseConversation(ctx context.Context, shop, id string, version int64) (gone store.Erased, err error) {
	c, err := s.View(ctx, shop).Conversation(id)
	switch {
	case err != nil:
		return gone, err
	case c.Version != version:
		return gone, store.ErrConflict
	}
	k := s.shopKeys(shop)
	args := append([]string{shop, id, number(version), s.publish, k.channel, repeated, number(min(c.Made, mostMade))},
		slices.Concat([]string{id}, c.Owner.Addresses)...)
	reply, err := s.run(ctx, s.scripts.erase, true, []string{
		s.shelf(shop).done + s.nonce(), k.hash, k.board, k.open, k.closed, k.due, k.outbox, k.tried, k.lines + id, k.queue + id, k.logs + id, k.find,
	}, args...)
	s.outbox.lower(k.part, unknown)
	s.due.lower(k.part, unknown)
	switch {
	case err != nil:
		return gone, err
	case reply == "missing":
		return gone, store.ErrNotFound
	case reply == "conflict":
		return gone, store.ErrConflict
	}
	if _, err := fmt.Sscanf(fmt.Sprint(reply), "%d %d %d %d", &gone.Lines, &gone.Entries, &gone.Handovers, &gone.Reminders); err != nil {
		return gone, fmt.Errorf("redis: erase answered %v: %w", reply, err)
	}
	return gone, nil
}

// trimmedAtOnce is how many of a conversation's lines a call of trim drops at most.
const trimmedAtOnce = 500

// TrimTranscripts implements store.Rights. It goes through conversations as the board has
// them, those changed first first; one that changes meanwhile may be met again.
func (s *Store) TrimTranscripts(ctx context.Context, shop string, before time.Time, after string, n int) (gone int, next string, err error) {
	skip := 0
	if after != "" {
		if skip, err = strconv.Atoi(after); err != nil {
			return 0, "", fmt.Errorf("go on after %q: %w; give what an earlier call returned", after, err)
		}
	}
	list, err := s.Listed(ctx, shop, skip, max(n, 1))
	if err != nil {
		return 0, "", err
	}
	for _, l := range list {
		k, err := s.trim(ctx, shop, l.ID, before)
		if err != nil {
			return gone, "", err
		}
		gone += k
	}
	if len(list) == max(n, 1) {
		next = strconv.Itoa(skip + len(list))
	}
	return gone, next, nil
}

func (s *Store) trim(ctx context.Context, shop, id string, before time.Time) (gone int, err error) {
	k := s.shopKeys(shop)
	for {
		reply, err := s.do(ctx, &call{words: []any{"LRANGE", k.lines + id, 0, trimmedAtOnce - 1}})
		if err != nil {
			return gone, err
		}
		elements := texts(reply)
		old, err := older(elements, before)
		if err != nil || old == 0 {
			return gone, err
		}
		answer, err := s.run(ctx, s.scripts.trim, true, []string{k.hash, k.lines + id, k.queue + id},
			id, elements[0], strconv.Itoa(old), s.publish, k.channel)
		if err != nil {
			return gone, err
		}
		went, _ := answer.(int64)
		if gone += int(went); went < trimmedAtOnce {
			return gone, nil
		}
	}
}

// older counts the elements from the first on that are from before a time.
func older(elements []string, before time.Time) (n int, err error) {
	for _, element := range elements {
		parts := strings.SplitN(element, "\n", 3)
		if len(parts) != 3 {
			return n, fmt.Errorf("redis: a line %q is not as it was written", element)
		}
		l, err := record.Decode[conversation.Line](parts[2])
		if err != nil {
			return n, err
		}
		if !l.At.Before(before) {
			return n, nil
		}
		n++
	}
	return n, nil
}

// TrimHandovers implements store.Rights.
func (s *Store) TrimHandovers(ctx context.Context, shop string, before time.Time, n int) (int, error) {
	if n <= 0 {
		return 0, s.open(ctx)
	}
	k := s.shopKeys(shop)
	reply, err := s.run(ctx, s.scripts.closed, true, []string{k.hash, k.closed}, number(-record.Milli(before)), strconv.Itoa(n))
	gone, _ := reply.(int64)
	return int(gone), err
}
