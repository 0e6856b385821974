package redis

import (
	"context"
	_ "embed"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
)

//go:embed lua/tally.lua
var tallyLua string

// Counts are a hash for each month: "n" and "s", each with day, kind and key behind it,
// parted by tabs, hold how many and how much. The months that there are make a set.

// monthOf is the month of a day such as 2026-06-13.
func monthOf(day string) string { return day[:min(len(day), len("2026-06"))] }

func placeOfTally(t conversation.Tally) string { return t.Day + "\t" + t.Kind + "\t" + t.Key }

// putTallies writes a turn's counts down for commit.lua. All are of one day.
func putTallies(w *written, t *store.Turn) error {
	if list := t.Effects.Tally; len(list) > 0 {
		w.month = monthOf(list[0].Day)
	}
	w.args = append(w.args, w.month, strconv.Itoa(len(t.Effects.Tally)))
	for _, one := range t.Effects.Tally {
		w.args = append(w.args, placeOfTally(one), number(one.N), number(one.Sum))
	}
	return nil
}

// PutTallies implements store.Tallied. Each month is one step.
func (s *Store) PutTallies(ctx context.Context, shop string, list []conversation.Tally) error {
	if err := record.CheckTallies(list); err != nil {
		return record.Refused(err)
	}
	k := s.shopKeys(shop)
	months := make(map[string][]string)
	for _, t := range list {
		m := monthOf(t.Day)
		months[m] = append(months[m], placeOfTally(t), number(t.N), number(t.Sum))
	}
	for m, args := range months {
		if _, err := s.run(ctx, s.scripts.tally, true, []string{k.tally + m, k.months}, append([]string{m}, args...)...); err != nil {
			return err
		}
	}
	return s.open(ctx)
}

// Tallies implements store.Across. Each month is read by itself.
func (v view) Tallies(from, until string, kinds ...string) (list []conversation.Tally, err error) {
	reply, err := v.s.do(v.ctx, &call{words: []any{"SMEMBERS", v.keys.months}})
	if err != nil {
		return nil, err
	}
	for _, month := range texts(reply) {
		if month < monthOf(from) || month > monthOf(until) {
			continue
		}
		reply, err := v.s.do(v.ctx, &call{words: []any{"HGETALL", v.keys.tally + month}})
		if err != nil {
			return nil, err
		}
		there, err := tallies(texts(reply))
		if err != nil {
			return nil, err
		}
		list = append(list, there...)
	}
	list = slices.DeleteFunc(list, func(t conversation.Tally) bool { return !record.Wants(t, from, until, kinds) })
	record.TallyOrder(list)
	return list, nil
}

// tallies reads the counts of a month from its fields and values in turn.
func tallies(list []string) (out []conversation.Tally, err error) {
	at := make(map[string]int)
	for i := 0; i+1 < len(list); i += 2 {
		name := list[i][1:]
		if _, there := at[name]; !there {
			words := strings.SplitN(name, "\t", 3)
			if len(words) != 3 {
				return nil, fmt.Errorf("redis: a count is named %q", name)
			}
			at[name] = len(out)
			out = append(out, conversation.Tally{Day: words[0], Kind: words[1], Key: words[2]})
		}
		value, err := strconv.ParseInt(list[i+1], 10, 64)
		if err != nil {
			return nil, fmt.Errorf("redis: count %q: %w", name, err)
		}
		if t := &out[at[name]]; list[i][0] == 'n' {
			t.N = value
		} else {
			t.Sum = value
		}
	}
	return out, nil
}
