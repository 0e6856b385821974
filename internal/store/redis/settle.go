package redis

import (
	"context"
	"strconv"

	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
)

// ending is what is to be noted of a line: act is retry, leave or report, arg the time or
// the state that belongs to it.
type ending struct{ line, act, arg string }

// SettleOutbox implements store.Store. Each shop's results are one step.
func (s *Store) SettleOutbox(ctx context.Context, results []store.Result) error {
	if err := record.CheckResults(results); err != nil {
		return err
	}
	var shops []string
	byShop := make(map[string][]ending)
	for _, r := range results {
		if byShop[r.Shop] == nil {
			shops = append(shops, r.Shop)
		}
		e := ending{r.Line, "leave", r.Kind} // kinds are named as the states they lead to
		if r.Kind == store.Retry {
			e.act, e.arg = "retry", number(record.Milli(r.Next))
		}
		byShop[r.Shop] = append(byShop[r.Shop], e)
	}
	if len(results) == 0 {
		return s.open(ctx)
	}
	for _, shop := range shops {
		if _, err := s.end(ctx, shop, byShop[shop]); err != nil {
			return err
		}
	}
	return nil
}

// Delivered implements store.Store.
func (s *Store) Delivered(ctx context.Context, shop, line, state string) error {
	if err := record.CheckReport(state); err != nil {
		return err
	}
	known, err := s.end(ctx, shop, []ending{{line, "report", state}})
	if err == nil && known == 0 {
		return store.ErrNotFound
	}
	return err
}

// end notes endings and tells how many lines there were. A line is looked for in the
// conversation that its id begins with, then by the shop's list of ids of another make.
func (s *Store) end(ctx context.Context, shop string, list []ending) (known int, err error) {
	k := s.shopKeys(shop)
	var placed, rest []ending
	var owners []string
	for _, e := range list {
		if owner, ok := ownerOf(e.line); ok {
			placed, owners = append(placed, e), append(owners, owner)
		} else {
			rest = append(rest, e)
		}
	}
	answers, err := s.endAt(ctx, k, placed, owners)
	if err != nil {
		return 0, err
	}
	for i, a := range answers {
		if a == "1" {
			known++
		} else {
			rest = append(rest, placed[i])
		}
	}
	if len(rest) == 0 {
		return known, nil
	}
	rest, owners, err = s.loose(ctx, k, rest)
	if err != nil {
		return known, err
	}
	_, err = s.endAt(ctx, k, rest, owners)
	return known + len(rest), err
}

// loose finds the conversations of lines whose ids don't tell them, and leaves out those
// that are nowhere.
func (s *Store) loose(ctx context.Context, k *shopKeys, list []ending) (found []ending, owners []string, err error) {
	words := []any{"HMGET", k.hash}
	for _, e := range list {
		words = append(words, "x"+e.line)
	}
	reply, err := s.do(ctx, &call{words: words})
	if err != nil {
		return nil, nil, err
	}
	answers, _ := reply.([]any)
	for i, a := range answers {
		if owner, ok := a.(string); ok {
			found, owners = append(found, list[i]), append(owners, owner)
		}
	}
	return found, owners, nil
}

// endAt notes endings in one step.
func (s *Store) endAt(ctx context.Context, k *shopKeys, list []ending, owners []string) ([]string, error) {
	if len(list) == 0 {
		return nil, nil
	}
	keys := []string{k.hash, k.outbox, k.tried}
	args := []string{k.name, s.publish, k.channel}
	numbers := make(map[string]int)
	for i, e := range list {
		owner := owners[i]
		n, ok := numbers[owner]
		if !ok {
			n = len(numbers)
			numbers[owner] = n
			keys = append(keys, k.lines+owner, k.queue+owner)
		}
		args = append(args, strconv.Itoa(n), owner, e.line, e.act, e.arg)
	}
	reply, err := s.run(ctx, s.scripts.settle, true, keys, args...)
	s.outbox.lower(k.part, unknown)
	return texts(reply), err
}
