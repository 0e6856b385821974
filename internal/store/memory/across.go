package memory

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strconv"
	"time"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
)

// tallied is what a count is of, amount what was counted.
type (
	tallied struct{ day, kind, key string }
	amount  struct{ n, sum int64 }
)

func (sh *shop) add(list []conversation.Tally) {
	for _, t := range list {
		at := tallied{t.Day, t.Kind, t.Key}
		sh.tallies[at] = amount{sh.tallies[at].n + t.N, sh.tallies[at].sum + t.Sum}
	}
}

// PutTallies implements store.Tallied.
func (s *Store) PutTallies(ctx context.Context, shopKey string, list []conversation.Tally) error {
	if err := record.CheckTallies(list); err != nil {
		return record.Refused(err)
	}
	return s.change(ctx, func() ([]store.Change, error) {
		sh := s.shop(shopKey)
		for _, t := range list {
			sh.tallies[tallied{t.Day, t.Kind, t.Key}] = amount{t.N, t.Sum}
		}
		return nil, nil
	})
}

// Tallies implements store.Across.
func (v view) Tallies(from, until string, kinds ...string) (list []conversation.Tally, err error) {
	err = v.read(func(sh *shop) error {
		for at, a := range sh.tallies {
			t := conversation.Tally{Day: at.day, Kind: at.kind, Key: at.key, N: a.n, Sum: a.sum}
			if record.Wants(t, from, until, kinds) {
				list = append(list, t)
			}
		}
		return nil
	})
	record.TallyOrder(list)
	return list, err
}

// Find implements store.Across.
func (v view) Find(query string, n int, after string) (cards []store.Card, next string, err error) {
	words, before := record.Words(query), int64(1)<<62
	if after != "" {
		if before, err = strconv.ParseInt(after, 10, 64); err != nil {
			return nil, "", fmt.Errorf("%w: go on after %.40q; give what an earlier answer said", store.ErrRefused, after)
		}
	}
	n = record.Limit(n, 500)
	err = v.read(func(sh *shop) error {
		var found []*tubside
		for _, c := range sh.conversations {
			if c.begun < before && record.Has(c.sought, words) {
				found = append(found, c)
			}
		}
		slices.SortFunc(found, func(a, b *tubside) int { return cmp.Compare(b.begun, a.begun) })
		if len(found) > n {
			found = found[:n]
			next = strconv.FormatInt(found[n-1].begun, 10)
		}
		for _, c := range found {
			one, err := c.card()
			if err != nil {
				return err
			}
			cards = append(cards, one)
		}
		return nil
	})
	return cards, next, err
}

// Upcoming implements store.Across.
func (v view) Upcoming(from, until time.Time, n int) (list []store.Coming, err error) {
	first, end := record.Milli(from), record.Milli(until)
	err = v.read(func(sh *shop) error {
		var found []*reminder
		for _, c := range sh.conversations {
			for _, e := range c.reminders {
				if due := record.Milli(e.work.Due); due >= first && due < end {
					found = append(found, e.work)
				}
			}
		}
		slices.SortFunc(found, func(a, b *reminder) int { return cmp.Or(a.Due.Compare(b.Due), cmp.Compare(a.ID, b.ID)) })
		for _, r := range found[:min(len(found), record.Limit(n, 500))] {
			state, err := record.State(r.at.state, r.at.version)
			if err != nil {
				return err
			}
			list = append(list, store.Coming{Reminder: r.Reminder, State: state})
		}
		return nil
	})
	return list, err
}
