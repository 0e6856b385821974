package memory

import (
	"context"
	"slices"
	"time"

	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
)

// ClaimOutbox implements store.Store.
func (s *Store) ClaimOutbox(ctx context.Context, now time.Time, lease time.Duration, n int) ([]store.Outgoing, error) {
	var out []store.Outgoing
	err := s.change(ctx, func() ([]store.Change, error) {
		for _, e := range s.outbox.claim(record.Milli(now), record.Milli(now.Add(lease)), n) {
			e.work.attempt++
			out = append(out, store.Outgoing{Shop: e.work.line.at.shop, Line: e.work.line.Line, Attempt: e.work.attempt})
		}
		return nil, nil
	})
	return out, err
}

// ClaimDue implements store.Store.
func (s *Store) ClaimDue(ctx context.Context, now time.Time, lease time.Duration, n int) ([]store.Due, error) {
	var out []store.Due
	err := s.change(ctx, func() ([]store.Change, error) {
		for _, e := range s.due.claim(record.Milli(now), record.Milli(now.Add(lease)), n) {
			out = append(out, store.Due{Shop: e.work.at.shop, Reminder: e.work.Reminder})
		}
		return nil, nil
	})
	return out, err
}

// SettleOutbox implements store.Store.
func (s *Store) SettleOutbox(ctx context.Context, results []store.Result) error {
	if err := record.CheckResults(results); err != nil {
		return err
	}
	return s.change(ctx, func() ([]store.Change, error) {
		var changes []store.Change
		for _, r := range results {
			if l := s.find(r.Shop, r.Line); l != nil {
				s.settle(l, r)
				changes = append(changes, store.Change{Shop: r.Shop, Conversation: l.at.id})
			}
		}
		return changes, nil
	})
}

func (s *Store) settle(l *line, r store.Result) {
	i := l.at.queued(l)
	switch {
	case i < 0 && r.Kind == store.Sent:
		l.advance(record.SentOff)
	case i < 0:
	case r.Kind == store.Retry && i == 0:
		s.outbox.put(l.at.queue[i], record.Milli(r.Next))
	case r.Kind == store.Sent:
		s.unqueue(l.at, i)
		l.advance(record.SentOff)
	case r.Kind == store.Failed:
		s.unqueue(l.at, i)
		l.advance(record.Failed)
	}
}

// Delivered implements store.Store.
func (s *Store) Delivered(ctx context.Context, shopKey, id, state string) error {
	if err := record.CheckReport(state); err != nil {
		return err
	}
	return s.change(ctx, func() ([]store.Change, error) {
		l := s.find(shopKey, id)
		if l == nil {
			return nil, store.ErrNotFound
		}
		if i := l.at.queued(l); i >= 0 {
			s.unqueue(l.at, i)
		}
		l.advance(state)
		return []store.Change{{Shop: shopKey, Conversation: l.at.id}}, nil
	})
}

// dropUnsent empties a conversation's queue.
func (s *Store) dropUnsent(sh *shop, c *tubside) {
	for _, e := range c.queue {
		s.outbox.remove(e)
		e.work.line.advance(record.Dropped)
	}
	sh.counts.Outbox -= int64(len(c.queue))
	c.queue = nil
}

func (s *Store) find(shopKey, id string) *line {
	if sh := s.shops[shopKey]; sh != nil {
		return sh.lines[id]
	}
	return nil
}

// unqueue takes the message at index i out of the queue and lets the next one go.
func (s *Store) unqueue(c *tubside, i int) {
	s.outbox.remove(c.queue[i])
	c.queue = slices.Delete(c.queue, i, i+1)
	s.shops[c.shop].counts.Outbox--
	if i == 0 && len(c.queue) > 0 {
		s.outbox.put(c.queue[0], c.queue[0].work.place)
	}
}

// queued is where a line stands in its conversation's queue, or -1.
func (c *tubside) queued(l *line) int {
	return slices.IndexFunc(c.queue, func(e *entry[*message]) bool { return e.work.line == l })
}

func (l *line) advance(state string) {
	if record.Forward(l.Delivery, state) {
		l.Delivery = state
	}
}
