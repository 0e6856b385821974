package redis

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
)

// work is one kind of what is claimed.
type work struct {
	horizon *horizon
	keys    func(p partition) []string
}

func (s *Store) messages() work {
	return work{s.outbox, func(p partition) []string { return []string{s.layout.outbox(p), s.layout.tried(p)} }}
}

func (s *Store) reminders() work {
	return work{s.due, func(p partition) []string { return []string{s.layout.due(p)} }}
}

// claimed is one piece of work that is leased now.
type claimed struct {
	shop, rest string // what the work itself is, by its kind
	place      int64
	attempt    int
}

// ClaimOutbox implements store.Store.
func (s *Store) ClaimOutbox(ctx context.Context, now time.Time, lease time.Duration, n int) (out []store.Outgoing, err error) {
	list, err := s.claim(ctx, s.messages(), now, lease, n)
	if err != nil {
		return nil, err
	}
	for _, c := range list {
		_, body, _ := strings.Cut(c.rest, "\n")
		l, err := record.Decode[conversation.Line](body)
		if err != nil {
			return nil, err
		}
		out = append(out, store.Outgoing{Shop: c.shop, Line: l, Attempt: c.attempt})
	}
	return out, nil
}

// ClaimDue implements store.Store.
func (s *Store) ClaimDue(ctx context.Context, now time.Time, lease time.Duration, n int) (out []store.Due, err error) {
	list, err := s.claim(ctx, s.reminders(), now, lease, n)
	if err != nil {
		return nil, err
	}
	for _, c := range list {
		r, err := record.Decode[conversation.Reminder](c.rest)
		if err != nil {
			return nil, err
		}
		out = append(out, store.Due{Shop: c.shop, Reminder: r})
	}
	return out, nil
}

// claim leases up to n pieces of work of all partitions, those with the lowest places
// first. Where only one partition can have any, it is claimed at once; of several, it is
// looked first how many of each are among the first n.
func (s *Store) claim(ctx context.Context, w work, now time.Time, lease time.Duration, n int) ([]claimed, error) {
	if err := s.open(ctx); err != nil || n <= 0 {
		return nil, err
	}
	at := record.Milli(now)
	ready := w.horizon.before(at)
	shares := make([]int, len(ready))
	if len(ready) == 1 {
		shares[0] = n
	} else if err := s.share(ctx, w, ready, shares, at, n); err != nil {
		return nil, err
	}
	var calls []*call
	var asked []question
	for i, q := range ready {
		if shares[i] > 0 {
			calls = append(calls, &call{script: s.scripts.claim, write: true, keys: w.keys(q.part),
				args: []string{number(at), number(record.Milli(now.Add(lease))), strconv.Itoa(shares[i])}})
			asked = append(asked, q)
		}
	}
	err := s.all(ctx, calls)
	var out []claimed
	for i, c := range calls {
		if c.err != nil || c.reply == nil {
			continue // its lease runs out
		}
		list, first, err := leased(texts(c.reply))
		if err != nil {
			return nil, err
		}
		w.horizon.answer(asked[i], first)
		out = append(out, list...)
	}
	slices.SortStableFunc(out, func(a, b claimed) int { return cmp.Compare(a.place, b.place) })
	if len(out) > 0 {
		return out, nil // what was leased must be worked on, whatever else went wrong
	}
	return nil, err
}

// share sets how many of the first n are each partition's.
func (s *Store) share(ctx context.Context, w work, ready []question, shares []int, at int64, n int) error {
	calls := make([]*call, len(ready))
	for i, q := range ready {
		calls[i] = &call{script: s.scripts.peek, keys: w.keys(q.part)[:1], args: []string{number(at), strconv.Itoa(n)}}
	}
	if err := s.all(ctx, calls); err != nil {
		return err
	}
	type one struct {
		place int64
		from  int
	}
	var list []one
	for i, c := range calls {
		for j, text := range texts(c.reply) {
			p, err := place(text)
			if err != nil {
				return err
			}
			switch {
			case j > 0:
				list = append(list, one{p, i})
			case p > at:
				w.horizon.answer(ready[i], p)
			}
		}
	}
	slices.SortStableFunc(list, func(a, b one) int { return cmp.Compare(a.place, b.place) })
	for _, o := range list[:min(n, len(list))] {
		shares[o.from]++
	}
	return nil
}

// leased reads an answer of claim.lua.
func leased(words []string) (list []claimed, first int64, err error) {
	if len(words)%3 != 1 {
		return nil, 0, fmt.Errorf("redis: claim answered %q", words)
	}
	first, err = place(words[0])
	for i := 1; i < len(words) && err == nil; i += 3 {
		c := claimed{}
		c.shop, c.rest, _ = strings.Cut(words[i], "\n")
		if c.place, err = place(words[i+1]); err == nil {
			c.attempt, err = strconv.Atoi(words[i+2])
		}
		list = append(list, c)
	}
	return list, first, err
}

// place reads a place as Redis writes it; nothing is never.
func place(text string) (int64, error) {
	if text == "" {
		return never, nil
	}
	f, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return 0, fmt.Errorf("redis: a place in an order is %q: %w", text, err)
	}
	return int64(f), nil
}

// NextDue implements store.Store.
func (s *Store) NextDue(ctx context.Context) (at time.Time, ok bool, err error) {
	if err := s.open(ctx); err != nil {
		return at, false, err
	}
	first := int64(never)
	for _, w := range []work{s.messages(), s.reminders()} {
		p, err := s.first(ctx, w)
		if err != nil {
			return at, false, err
		}
		if p != never {
			first = min(first, record.Ready(p))
		}
	}
	if first == never {
		return at, false, nil
	}
	return record.Time(first), true, nil
}

// first is the earliest place of all; the partitions of which it is not known are asked.
func (s *Store) first(ctx context.Context, w work) (int64, error) {
	first, doubtful := w.horizon.survey()
	calls := make([]*call, len(doubtful))
	for i, q := range doubtful {
		calls[i] = &call{script: s.scripts.peek, keys: w.keys(q.part)[:1], args: []string{"0", "0"}}
	}
	if err := s.all(ctx, calls); err != nil {
		return 0, err
	}
	for i, c := range calls {
		words := texts(c.reply)
		if len(words) != 1 {
			return 0, fmt.Errorf("redis: peek answered %q", words)
		}
		p, err := place(words[0])
		if err != nil {
			return 0, err
		}
		w.horizon.answer(doubtful[i], p)
		first = min(first, p)
	}
	return first, nil
}

// open says why nothing can be read, if so.
func (s *Store) open(ctx context.Context) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	s.gate.RLock()
	defer s.gate.RUnlock()
	if s.closed {
		return store.ErrClosed
	}
	return nil
}
