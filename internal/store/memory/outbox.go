package memory

import (
	"context"
	"slices"
	"time"

	"tubhand/internal/conversation"
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
	case r.Kind == store.Retry:
		if m := l.at.queue[i]; m.at >= 0 { // the first of its queue
			s.outbox.put(m, record.Milli(r.Next))
		}
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

// dropUnsent empties a conversation's queues, but for pages.
func (s *Store) dropUnsent(sh *shop, c *tubside) {
	kept := make([]*entry[*message], 0)
	for _, e := range c.queue {
		if e.work.line.Direction == conversation.Page {
			kept = append(kept, e)
			continue
		}
		s.outbox.remove(e)
		e.work.line.advance(record.Dropped)
		sh.counts.Outbox--
	}
	c.queue = kept
	for _, e := range kept {
		s.release(c, e.work.line.To)
	}
}

// release puts the first message to a recipient on the agenda, where it isn't yet.
func (s *Store) release(c *tubside, to string) {
	i := slices.IndexFunc(c.queue, func(e *entry[*message]) bool { return e.work.line.To == to })
	if i >= 0 && c.queue[i].at < 0 {
		s.outbox.put(c.queue[i], c.queue[i].work.place)
	}
}

func (s *Store) find(shopKey, id string) *line {
	if sh := s.shops[shopKey]; sh != nil {
		return sh.lines[id]
	}
	return nil
}

// unqueue takes the message at index i out and lets the next one to its recipient go.
func (s *Store) unqueue(c *tubside, i int) {
	e := c.queue[i]
	s.outbox.remove(e)
	c.queue = slices.Delete(c.queue, i, i+1)
	s.shops[c.shop].counts.Outbox--
	s.release(c, e.work.line.To)
}

// queued is where a line stands among what its conversation sends, or -1.
func (c *tubside) queued(l *line) int {
	return slices.IndexFunc(c.queue, func(e *entry[*message]) bool { return e.work.line == l })
}

func (l *line) advance(state string) {
	if record.Forward(l.Delivery, state) {
		l.Delivery = state
	}
}
