package memory

import (
	"cmp"
	"context"
	"slices"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
)

// view is one shop read under the store's lock.
type view struct {
	s    *Store
	ctx  context.Context
	shop string
}

// View implements store.Store.
func (s *Store) View(ctx context.Context, shopKey string) store.View {
	return view{s: s, ctx: ctx, shop: shopKey}
}

// read runs do with the shop, if there is one, while nothing changes.
func (v view) read(do func(sh *shop) error) error {
	if err := v.ctx.Err(); err != nil {
		return err
	}
	v.s.mu.RLock()
	defer v.s.mu.RUnlock()
	if v.s.closed {
		return store.ErrClosed
	}
	if sh := v.s.shops[v.shop]; sh != nil {
		return do(sh)
	}
	return nil
}

// of runs do with one conversation, if it is there.
func (v view) of(id string, do func(c *tubside)) error {
	return v.read(func(sh *shop) error {
		if c := sh.conversations[id]; c != nil {
			do(c)
		}
		return nil
	})
}

// Board implements store.View.
func (v view) Board(limit int) (cards []store.Card, err error) {
	err = v.read(func(sh *shop) error {
		all := make([]*tubside, 0, len(sh.conversations))
		for _, c := range sh.conversations {
			all = append(all, c)
		}
		slices.SortFunc(all, func(a, b *tubside) int { return cmp.Compare(b.touched, a.touched) })
		for _, c := range all[:min(len(all), record.Limit(limit, 500))] {
			card, err := c.card()
			if err != nil {
				return err
			}
			cards = append(cards, card)
		}
		return nil
	})
	return cards, err
}

func (c *tubside) card() (store.Card, error) {
	state, err := record.State(c.state, c.version)
	card := store.Card{State: state, Changed: c.changed}
	for _, l := range slices.Backward(c.lines) {
		if l.Direction != conversation.Note {
			card.Last = l.Line
			break
		}
	}
	if pending := c.pending(); len(pending) > 0 {
		card.NextDue = pending[0].Due
	}
	return card, err
}

func (c *tubside) pending() []conversation.Reminder {
	var list []conversation.Reminder
	for _, e := range c.reminders {
		list = append(list, e.work.Reminder)
	}
	record.EarliestFirst(list)
	return list
}

// Conversation implements store.View.
func (v view) Conversation(id string) (conversation.Conversation, error) {
	state, version := "", int64(0)
	err := v.of(id, func(c *tubside) { state, version = c.state, c.version })
	if err != nil {
		return conversation.Conversation{}, err
	}
	if version == 0 {
		return conversation.Conversation{}, store.ErrNotFound
	}
	return record.State(state, version)
}

// Transcript implements store.View.
func (v view) Transcript(id string, limit int) (lines []conversation.Line, err error) {
	err = v.of(id, func(c *tubside) {
		for _, l := range last(c.lines, limit) {
			lines = append(lines, l.Line)
		}
	})
	return lines, err
}

// Log implements store.View.
func (v view) Log(id string, limit int) (entries []conversation.LogEntry, err error) {
	err = v.of(id, func(c *tubside) {
		for _, e := range last(c.log, limit) {
			e.Dose = copied(e.Dose)
			entries = append(entries, e)
		}
	})
	return entries, err
}

func last[T any](list []T, limit int) []T { return list[max(0, len(list)-max(limit, 0)):] }

// Handovers implements store.View.
func (v view) Handovers(closed bool, limit int) (list []conversation.Handover, err error) {
	err = v.read(func(sh *shop) error {
		for _, h := range sh.handovers {
			if h.Closed.IsZero() != closed {
				list = append(list, h)
			}
		}
		return nil
	})
	if closed {
		record.LastClosedFirst(list)
	} else {
		record.WorstFirst(list)
	}
	return list[:min(len(list), max(limit, 0))], err
}

// Reminders implements store.View.
func (v view) Reminders(id string) (list []conversation.Reminder, err error) {
	err = v.of(id, func(c *tubside) { list = c.pending() })
	return list, err
}

// Counts implements store.View.
func (v view) Counts() (counts store.Counts, err error) {
	err = v.read(func(sh *shop) error { counts = sh.counts; return nil })
	return counts, err
}
