// Package move copies all of one store into another and proves that it is there. It may be
// broken off and run again: what is there already is compared, not written twice.
//
// It is for stores that nothing serves from. What does not move: dedupe marks, so that a
// text that a gateway repeats from before the move counts as a new one; the numbers of
// attempts to send, which begin anew; and versions and the numbers of audit entries, which
// begin at 1.
package move

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

// Store is a store whose conversations can be listed.
type Store interface {
	store.Store
	// Shops lists the keys of all shops that have conversations, documents, audit entries or counts.
	Shops(ctx context.Context) ([]string, error)
	// Listed lists up to limit of a shop's conversations, those changed first first, from
	// the skip-th on. It is only true of a store that nothing writes to.
	Listed(ctx context.Context, shop string, skip, limit int) ([]store.Listed, error)
	store.ListedDocuments
}

// Report is what was moved. Digest stands for everything that was compared.
type Report struct {
	Shops         int    `json:"shops"`
	Conversations int    `json:"conversations"`
	AlreadyThere  int    `json:"already_there"` // by an earlier run, among Conversations
	Lines         int    `json:"lines"`
	Log           int    `json:"log"`
	Reminders     int    `json:"reminders"`
	Handovers     int    `json:"handovers"`
	Documents     int    `json:"documents"`
	Audit         int    `json:"audit_entries"`
	Tallies       int    `json:"counts"`
	Digest        string `json:"digest"`
}

// ErrDiffers says that the two stores do not hold the same.
var ErrDiffers = errors.New("the stores differ")

// page is how many conversations are listed at a time.
const page = 500

// everything is a limit that no conversation reaches.
const everything = math.MaxInt32

// Run moves everything. Told is called now and then with what has been moved so far; it
// may be nil.
func Run(ctx context.Context, from, to Store, told func(Report)) (r Report, err error) {
	shops, err := from.Shops(ctx)
	if err != nil {
		return r, err
	}
	slices.Sort(shops)
	sum := sha256.New()
	for _, shop := range shops {
		m := &mover{from: from.View(ctx, shop), to: to, shop: shop, report: &r}
		r.Shops++
		if err := m.handovers(); err != nil {
			return r, fmt.Errorf("shop %s: %w", shop, err)
		}
		for skip := 0; ; skip += page {
			list, err := from.Listed(ctx, shop, skip, page)
			if err != nil {
				return r, fmt.Errorf("shop %s: %w", shop, err)
			}
			for _, l := range list {
				digest, err := m.one(ctx, l)
				if err != nil {
					return r, fmt.Errorf("shop %s: conversation %s: %w", shop, l.ID, err)
				}
				sum.Write(digest)
			}
			if told != nil && len(list) > 0 {
				told(r)
			}
			if len(list) < page {
				break
			}
		}
		if err := m.counts(ctx); err != nil {
			return r, err
		}
		if err := errors.Join(m.documents(ctx, from, sum), m.audit(ctx, from, sum), m.tallies(ctx, sum)); err != nil {
			return r, fmt.Errorf("shop %s: %w", shop, err)
		}
	}
	r.Digest = hex.EncodeToString(sum.Sum(nil))
	return r, nil
}

// mover moves one shop.
type mover struct {
	from   store.View
	to     Store
	shop   string
	cases  map[string][]conversation.Handover // by conversation
	report *Report
}

// whole is all that belongs to a conversation.
type whole struct {
	State     conversation.Conversation
	Lines     []conversation.Line
	Log       []conversation.LogEntry
	Reminders []conversation.Reminder
	Handovers []conversation.Handover
}

func (m *mover) handovers() (err error) {
	m.cases, err = byConversation(m.from)
	return err
}

func byConversation(v store.View) (map[string][]conversation.Handover, error) {
	cases := make(map[string][]conversation.Handover)
	for _, closed := range []bool{false, true} {
		list, err := v.Handovers(closed, everything)
		if err != nil {
			return nil, err
		}
		for _, h := range list {
			cases[h.Conversation] = append(cases[h.Conversation], h)
		}
	}
	return cases, nil
}

// one moves a conversation, reads it back and compares.
func (m *mover) one(ctx context.Context, l store.Listed) ([]byte, error) {
	w, err := read(m.from, l.ID)
	if err != nil {
		return nil, err
	}
	w.Handovers = m.cases[l.ID]
	switch err := m.to.Commit(ctx, w.turn(m.shop, l.Changed)); {
	case errors.Is(err, store.ErrConflict):
		m.report.AlreadyThere++
	case err != nil:
		return nil, err
	}
	there, err := read(m.to.View(ctx, m.shop), l.ID)
	if err != nil {
		return nil, err
	}
	there.Handovers = w.Handovers // compared for the whole shop, by counts
	digest, err := w.digest()
	if err != nil {
		return nil, err
	}
	other, err := there.digest()
	if err != nil {
		return nil, err
	}
	if !slices.Equal(digest, other) {
		return nil, fmt.Errorf("%w: what is there is not what was to be moved; move into an empty store", ErrDiffers)
	}
	m.report.Conversations++
	m.report.Lines += len(w.Lines)
	m.report.Log += len(w.Log)
	m.report.Reminders += len(w.Reminders)
	m.report.Handovers += len(w.Handovers)
	return digest, nil
}

func read(v store.View, id string) (w whole, err error) {
	if w.State, err = v.Conversation(id); err != nil {
		return w, err
	}
	if w.Lines, err = v.Transcript(id, everything); err != nil {
		return w, err
	}
	if w.Log, err = v.Log(id, everything); err != nil {
		return w, err
	}
	w.Reminders, err = v.Reminders(id)
	return w, err
}

// turn is the turn that writes everything at once.
func (w whole) turn(shop string, changed time.Time) store.Turn {
	t := store.Turn{Shop: shop, Now: changed, State: w.State}
	t.State.Version = 0
	t.Effects = conversation.Effects{Lines: w.Lines, Remind: w.Reminders, Handovers: w.Handovers, Log: w.Log}
	return t
}

// digest is the same for two that are the same but for their versions.
func (w whole) digest() ([]byte, error) {
	w.State.Version = 0
	written, err := json.Marshal(w)
	if err != nil {
		return nil, err
	}
	sum := sha256.Sum256(written)
	return sum[:], nil
}

// counts compares a shop's totals and its handovers.
func (m *mover) counts(ctx context.Context) error {
	v := m.to.View(ctx, m.shop)
	want, err := m.from.Counts()
	if err != nil {
		return err
	}
	got, err := v.Counts()
	if err != nil {
		return err
	}
	want.Turns = got.Turns // the past turns of a conversation are one now
	if got != want {
		return fmt.Errorf("%w: shop %s has %+v, and is to have %+v", ErrDiffers, m.shop, got, want)
	}
	there, err := byConversation(v)
	if err != nil {
		return err
	}
	one, err1 := json.Marshal(m.cases)
	other, err2 := json.Marshal(there)
	if err := errors.Join(err1, err2); err != nil {
		return err
	}
	if string(one) != string(other) {
		return fmt.Errorf("%w: the handovers of shop %s are not the same", ErrDiffers, m.shop)
	}
	return nil
}
