package sqlite

import (
	"context"
	"strings"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
)

// written is a turn made ready by its caller, so that the writer's goroutine only
// hands values on.
type written struct {
	turn      store.Turn
	now       int64
	state     string
	kept      conversation.Conversation // a copy of the state, to be read from memory
	addresses string
	lines     []string
	log       []string
	reminders []string
	handovers []string
	sought    string
}

// Commit implements store.Store.
func (s *Store) Commit(ctx context.Context, t store.Turn) error {
	p, err := prepare(t)
	if err != nil {
		return err
	}
	return s.do(ctx, func(w *writer) error { return w.commit(p) })
}

func prepare(t store.Turn) (*written, error) {
	t, err := record.Normal(t)
	if err != nil {
		return nil, err
	}
	p := &written{turn: t, now: record.Milli(t.Now), addresses: strings.Join(t.State.Owner.Addresses, "\n"), kept: t.State.Clone()}
	if p.state, err = record.Encode(t.State); err != nil {
		return nil, err
	}
	if p.lines, err = bodies(t.Effects.Lines); err != nil {
		return nil, err
	}
	if p.log, err = bodies(t.Effects.Log); err != nil {
		return nil, err
	}
	if p.reminders, err = bodies(t.Effects.Remind); err != nil {
		return nil, err
	}
	p.sought = record.Sought(&t.State)
	p.handovers, err = bodies(t.Effects.Handovers)
	return p, err
}

func bodies[T any](records []T) (out []string, err error) {
	for _, r := range records {
		body, err := record.Encode(r)
		if err != nil {
			return nil, err
		}
		out = append(out, body)
	}
	return out, nil
}

// commit writes one turn, after everything that can refuse it has been looked at: first
// the mark, so that a repeated event is known as such whatever its version.
func (w *writer) commit(p *written) error {
	t := &p.turn
	sh, err := w.shop(t.Shop)
	if err != nil {
		return err
	}
	r, err := w.find(sh.num, t.State.ID)
	if err != nil {
		return err
	}
	seen, err := w.marked(&r, t.Event)
	if err != nil {
		return err
	}
	if seen {
		return store.ErrDuplicate
	}
	if r.version != t.State.Version {
		return store.ErrConflict
	}
	if r.num == 0 {
		w.made.conversations++
		r.num = w.made.conversations
		sh.add.Conversations++
	}
	for _, step := range []func(*tally, *row, *written) error{
		w.mark, w.dropUnsent, w.putLines, w.putLog, w.putReminders, w.putHandovers, w.putAddresses, w.putSought, w.putTallies, w.putState,
	} {
		if err := step(sh, &r, p); err != nil {
			return err
		}
	}
	sh.add.Turns++
	w.kept(sh, r, p)
	return nil
}
