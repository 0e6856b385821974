package memory

import (
	"context"
	"fmt"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
)

// Commit implements store.Store.
func (s *Store) Commit(ctx context.Context, t store.Turn) error {
	t, err := record.Normal(t)
	if err != nil {
		return err
	}
	state, err := record.Encode(t.State)
	if err != nil {
		return err
	}
	return s.change(ctx, func() ([]store.Change, error) {
		sh := s.shop(t.Shop)
		if err := sh.check(t); err != nil {
			return nil, err
		}
		s.write(sh, t, state)
		return []store.Change{{Shop: t.Shop, Conversation: t.State.ID}}, nil
	})
}

func (s *Store) shop(key string) *shop {
	sh := s.shops[key]
	if sh == nil {
		sh = &shop{
			conversations: make(map[string]*tubside),
			addresses:     make(map[string]*tubside),
			lines:         make(map[string]*line),
			handovers:     make(map[string]conversation.Handover),
			marks:         make(map[string]int64),
			tallies:       make(map[tallied]amount),
		}
		s.shops[key] = sh
	}
	return sh
}

// check finds every reason not to write, before anything is written.
func (sh *shop) check(t store.Turn) error {
	if _, seen := sh.marks[t.Event]; seen && t.Event != "" {
		return store.ErrDuplicate
	}
	version := int64(0)
	if c := sh.conversations[t.State.ID]; c != nil {
		version = c.version
	}
	if version != t.State.Version {
		return store.ErrConflict
	}
	fresh := make(map[string]bool)
	for _, l := range t.Effects.Lines {
		if l.Send && (fresh[l.ID] || sh.lines[l.ID] != nil) {
			return fmt.Errorf("%w: line %q is in the transcript already", record.ErrTurn, l.ID)
		}
		fresh[l.ID] = l.Send
	}
	return nil
}

func (s *Store) write(sh *shop, t store.Turn, state string) {
	c := sh.conversations[t.State.ID]
	if c == nil {
		c = &tubside{shop: t.Shop, id: t.State.ID, reminders: make(map[string]*entry[*reminder])}
		sh.begun++
		c.begun = sh.begun
		sh.conversations[c.id] = c
		sh.counts.Conversations++
	}
	sh.touches++
	sh.counts.Turns++
	c.version, c.state, c.touched, c.changed = t.State.Version+1, state, sh.touches, record.Time(record.Milli(t.Now))
	c.sought = record.Sought(&t.State)
	sh.add(t.Effects.Tally)
	for _, a := range t.State.Owner.Addresses {
		sh.addresses[a] = c
	}
	sh.remember(t)
	if t.Effects.DropUnsent {
		s.dropUnsent(sh, c)
	}
	s.say(sh, c, t)
	s.remind(sh, c, t)
	for _, e := range t.Effects.Log {
		e.Dose = copied(e.Dose)
		c.log = append(c.log, e)
	}
	for _, h := range t.Effects.Handovers {
		if old, ok := sh.handovers[h.ID]; ok && old.Closed.IsZero() {
			sh.counts.Handovers--
		}
		if h.Closed.IsZero() {
			sh.counts.Handovers++
		}
		sh.handovers[h.ID] = h
	}
}

func copied[T any](p *T) *T {
	if p == nil {
		return nil
	}
	v := *p
	return &v
}

// remember sets the dedupe mark and forgets those that are old enough.
func (sh *shop) remember(t store.Turn) {
	if t.Event == "" {
		return
	}
	now := record.Milli(t.Now)
	sh.marks[t.Event] = now
	sh.aging = append(sh.aging, mark{t.Event, now})
	for len(sh.aging) > 0 && sh.aging[0].at < now-record.MarksKept.Milliseconds() {
		delete(sh.marks, sh.aging[0].event)
		sh.aging = sh.aging[1:]
	}
}

// say appends to the transcript and queues what is to be sent.
func (s *Store) say(sh *shop, c *tubside, t store.Turn) {
	for _, said := range t.Effects.Lines {
		l := &line{Line: said, at: c}
		c.lines = append(c.lines, l)
		if !l.Send {
			continue
		}
		sh.lines[l.ID] = l
		if l.Delivery != record.Queued {
			continue
		}
		m := entryOf(&message{line: l, place: record.Fresh(record.Milli(t.Now))})
		c.queue = append(c.queue, m)
		sh.counts.Outbox++
		s.release(c, l.To)
	}
}

// remind drops what the turn's event was or what it cancels, and sets what it asks for.
func (s *Store) remind(sh *shop, c *tubside, t store.Turn) {
	s.forget(sh, c, t.Event)
	for _, id := range t.Effects.Cancel {
		s.forget(sh, c, id)
	}
	for _, r := range t.Effects.Remind {
		s.forget(sh, c, r.ID)
		r.Due = record.Time(record.Milli(r.Due))
		e := entryOf(&reminder{Reminder: r, at: c})
		c.reminders[r.ID] = e
		s.due.put(e, record.Milli(r.Due))
		sh.counts.Reminders++
	}
}

func (s *Store) forget(sh *shop, c *tubside, id string) {
	e := c.reminders[id]
	if e == nil {
		return
	}
	delete(c.reminders, id)
	s.due.remove(e)
	sh.counts.Reminders--
}
