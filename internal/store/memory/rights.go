package memory

import (
	"cmp"
	"context"
	"slices"
	"time"

	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
)

// EraseConversation implements store.Rights.
func (s *Store) EraseConversation(ctx context.Context, shopKey, id string, version int64) (gone store.Erased, err error) {
	err = s.change(ctx, func() ([]store.Change, error) {
		sh := s.shops[shopKey]
		if sh == nil || sh.conversations[id] == nil {
			return nil, store.ErrNotFound
		}
		c := sh.conversations[id]
		if c.version != version {
			return nil, store.ErrConflict
		}
		gone = store.Erased{Lines: len(c.lines), Entries: len(c.log), Reminders: len(c.reminders), Handovers: sh.eraseHandovers(id)}
		s.eraseWork(sh, c)
		for address, leads := range sh.addresses {
			if leads == c {
				delete(sh.addresses, address)
			}
		}
		for _, l := range c.lines {
			delete(sh.lines, l.ID)
		}
		delete(sh.conversations, id)
		sh.counts.Conversations--
		return []store.Change{{Shop: shopKey, Conversation: id}}, nil
	})
	return gone, err
}

// eraseWork takes what is pending of a conversation off the agendas.
func (s *Store) eraseWork(sh *shop, c *tubside) {
	for _, e := range c.queue {
		s.outbox.remove(e)
	}
	for _, e := range c.reminders {
		s.due.remove(e)
	}
	sh.counts.Outbox -= int64(len(c.queue))
	sh.counts.Reminders -= int64(len(c.reminders))
}

func (sh *shop) eraseHandovers(conversation string) (gone int) {
	for id, h := range sh.handovers {
		if !record.IsOf(id, conversation) {
			continue
		}
		if h.Closed.IsZero() {
			sh.counts.Handovers--
		}
		delete(sh.handovers, id)
		gone++
	}
	return gone
}

// TrimTranscripts implements store.Rights. It goes through conversations in the order of
// their ids.
func (s *Store) TrimTranscripts(ctx context.Context, shopKey string, before time.Time, after string, n int) (gone int, next string, err error) {
	err = s.change(ctx, func() ([]store.Change, error) {
		var changes []store.Change
		sh := s.shops[shopKey]
		if sh == nil {
			return nil, nil
		}
		var ids []string
		for id := range sh.conversations {
			if id > after {
				ids = append(ids, id)
			}
		}
		slices.Sort(ids)
		if len(ids) > max(n, 1) {
			ids = ids[:max(n, 1)]
			next = ids[len(ids)-1]
		}
		for _, id := range ids {
			if k := sh.trim(sh.conversations[id], before); k > 0 {
				gone += k
				changes = append(changes, store.Change{Shop: shopKey, Conversation: id})
			}
		}
		return changes, nil
	})
	return gone, next, err
}

func (sh *shop) trim(c *tubside, before time.Time) (gone int) {
	for gone < len(c.lines) && c.lines[gone].At.Before(before) && c.queued(c.lines[gone]) < 0 {
		delete(sh.lines, c.lines[gone].ID)
		gone++
	}
	c.lines = slices.Delete(c.lines, 0, gone)
	return gone
}

// TrimHandovers implements store.Rights.
func (s *Store) TrimHandovers(ctx context.Context, shopKey string, before time.Time, n int) (gone int, err error) {
	err = s.change(ctx, func() ([]store.Change, error) {
		if sh := s.shops[shopKey]; sh != nil {
			for id, h := range sh.handovers {
				if gone < n && !h.Closed.IsZero() && h.Closed.Before(before) {
					delete(sh.handovers, id)
					gone++
				}
			}
		}
		return nil, nil
	})
	return gone, err
}

// Listed implements store.Rights.
func (s *Store) Listed(ctx context.Context, shopKey string, skip, limit int) (list []store.Listed, err error) {
	err = view{s: s, ctx: ctx, shop: shopKey}.read(func(sh *shop) error {
		all := make([]*tubside, 0, len(sh.conversations))
		for _, c := range sh.conversations {
			all = append(all, c)
		}
		slices.SortFunc(all, func(a, b *tubside) int { return cmp.Compare(a.touched, b.touched) })
		for _, c := range all[min(max(skip, 0), len(all)):] {
			if len(list) < limit {
				list = append(list, store.Listed{ID: c.id, Changed: c.changed})
			}
		}
		return nil
	})
	return list, err
}
