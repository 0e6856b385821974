package redis

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
)

// written is a turn as commit.lua takes it.
type written struct {
	keys      *shopKeys
	id        string
	month     string // of what it counts
	args      []string
	firstDue  int64 // of the reminders it sets
	queues    bool  // it puts lines in the outbox
	drops     bool
	fresh     int64
	reminders bool // it may change some
}

// Commit implements store.Store.
func (s *Store) Commit(ctx context.Context, t store.Turn) error {
	w, err := s.prepare(t)
	if err != nil {
		return err
	}
	answer, err := s.run(ctx, s.scripts.commit, true, w.all(t.Event), w.args...)
	// A duplicate may be this process's own turn, whose answer got lost.
	s.moved(w, err != nil || answer == "duplicate")
	switch {
	case err != nil:
		return err
	case answer == "duplicate":
		return store.ErrDuplicate
	case answer == "conflict":
		return store.ErrConflict
	case answer != "done":
		return fmt.Errorf("redis: commit answered %v", answer)
	}
	return nil
}

// all is every key that the script may touch.
func (w *written) all(event string) []string {
	k := w.keys
	return []string{
		k.hash, k.board, k.open, k.closed, k.due, k.outbox, k.tried,
		k.mark + event, k.lines + w.id, k.queue + w.id, k.logs + w.id,
		k.find, k.tally + w.month, k.months,
	}
}

// moved notes what work a turn left; when it is not sure that it was written, all.
func (s *Store) moved(w *written, unsure bool) {
	p := w.keys.part
	switch {
	case unsure || w.drops:
		s.outbox.lower(p, unknown)
	case w.queues:
		s.outbox.lower(p, w.fresh)
	}
	switch {
	case unsure:
		s.due.lower(p, unknown)
	case w.reminders:
		s.due.lower(p, w.firstDue)
	}
}

// prepare checks a turn and writes it down.
func (s *Store) prepare(t store.Turn) (*written, error) {
	t, err := record.Normal(t)
	if err != nil {
		return nil, err
	}
	if err := checkWords(t); err != nil {
		return nil, fmt.Errorf("%w: %w", record.ErrTurn, err)
	}
	body, err := record.Encode(t.State)
	if err != nil {
		return nil, err
	}
	now := record.Milli(t.Now)
	w := &written{keys: s.shopKeys(t.Shop), id: t.State.ID, firstDue: never, fresh: record.Fresh(now), drops: t.Effects.DropUnsent}
	w.reminders = t.Event != "" || len(t.Effects.Cancel)+len(t.Effects.Remind) > 0
	w.args = append(w.args, t.Shop, t.State.ID, flag(t.Event != ""), number(t.State.Version), number(t.State.Version+1),
		s.nonce(), number(now), number(record.MarksKept.Milliseconds()),
		s.publish, w.keys.channel, flag(t.Effects.DropUnsent), body)
	w.args = append(append(w.args, listed(t.State.Owner.Addresses)...), sought(&t.State))
	for _, write := range []func(*written, *store.Turn) error{putLines, putReminders, putLog, putHandovers, putTallies} {
		if err := write(w, &t); err != nil {
			return nil, err
		}
	}
	return w, nil
}

// checkWords refuses a line break where the written forms use one between two words.
func checkWords(t store.Turn) error {
	words := []string{t.Shop, t.State.ID}
	for _, l := range t.Effects.Lines {
		words = append(words, l.ID, l.To)
	}
	for _, r := range t.Effects.Remind {
		if strings.ContainsRune(r.ID, '\t') {
			return fmt.Errorf("there is a tab in the reminder's id %q", r.ID)
		}
	}
	for _, w := range words {
		if strings.ContainsRune(w, '\n') {
			return fmt.Errorf("there is a line break in %q", w)
		}
	}
	return nil
}

func putLines(w *written, t *store.Turn) error {
	w.args = append(w.args, strconv.Itoa(len(t.Effects.Lines)))
	for _, l := range t.Effects.Lines {
		body, err := record.Encode(l)
		if err != nil {
			return err
		}
		w.args = append(w.args, l.Delivery+"\n"+l.ID+"\n"+body, flag(l.Direction != conversation.Note))
		switch owner, ok := ownerOf(l.ID); {
		case l.Send && !(ok && owner == t.State.ID):
			w.args = append(w.args, l.ID)
		default:
			w.args = append(w.args, "")
		}
		if l.Send && l.Delivery == record.Queued {
			w.queues = true
			w.args = append(w.args, kind(l), number(w.fresh), l.To)
		} else {
			w.args = append(w.args, "")
		}
	}
	return nil
}

// kind is p for a page, which an opt-out does not drop.
func kind(l conversation.Line) string {
	if l.Direction == conversation.Page {
		return "p"
	}
	return "o"
}

func putReminders(w *written, t *store.Turn) error {
	gone := slices.Clone(t.Effects.Cancel)
	if t.Event != "" {
		gone = append(gone, t.Event)
	}
	last := make(map[string]int) // of two with one id the later one stands
	for i, r := range t.Effects.Remind {
		last[r.ID] = i
	}
	w.args = append(append(w.args, listed(gone)...), strconv.Itoa(len(last)))
	for i, r := range t.Effects.Remind {
		if last[r.ID] != i {
			continue
		}
		due := record.Milli(r.Due)
		r.Due = record.Time(due)
		body, err := record.Encode(r)
		if err != nil {
			return err
		}
		w.firstDue = min(w.firstDue, due)
		w.args = append(w.args, number(due), r.ID, body)
	}
	return nil
}

func putLog(w *written, t *store.Turn) error {
	w.args = append(w.args, strconv.Itoa(len(t.Effects.Log)))
	for _, e := range t.Effects.Log {
		body, err := record.Encode(e)
		if err != nil {
			return err
		}
		w.args = append(w.args, body)
	}
	return nil
}

// rankStep sets the ranks of handovers further apart than any two times.
const rankStep = int64(1) << 45

func putHandovers(w *written, t *store.Turn) error {
	w.args = append(w.args, strconv.Itoa(len(t.Effects.Handovers)))
	for _, h := range t.Effects.Handovers {
		body, err := record.Encode(h)
		if err != nil {
			return err
		}
		closed := ""
		if !h.Closed.IsZero() {
			closed = number(-record.Milli(h.Closed)) // last closed first
		}
		w.args = append(w.args, h.ID, number(record.Rank(h.Severity)*rankStep+record.Milli(h.Opened)), closed, body)
	}
	return nil
}

func flag(yes bool) string {
	if yes {
		return "1"
	}
	return "0"
}

// listed is a list with its length before it.
func listed(list []string) []string {
	return append([]string{strconv.Itoa(len(list))}, list...)
}

// texts reads an answer that is a list.
func texts(reply any) []string {
	list, _ := reply.([]any)
	out := make([]string, len(list))
	for i, one := range list {
		switch v := one.(type) {
		case string:
			out[i] = v
		case int64:
			out[i] = number(v)
		}
	}
	return out
}
