package dispatch

import (
	"context"
	"errors"
	"strings"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

// Ledger is the part of a store that delivery reports go to.
type Ledger interface {
	Delivered(ctx context.Context, shop, line, state string) error
	View(ctx context.Context, shop string) store.View
}

// Reports takes carriers' delivery reports. A message that was handed over and then
// failed on its way is a case for a person, like one that was never handed over.
type Reports struct {
	Ledger Ledger
	Turns  Handler
}

// recent is how far back in a transcript a failed message is looked for.
const recent = 200

// Delivered notes a report: state is sent, delivered or failed. An error that wraps
// store.ErrNotFound says that there is no such line; after any error the report may
// come again.
func (r Reports) Delivered(ctx context.Context, shop, line, state string) error {
	if err := r.Ledger.Delivered(ctx, shop, line, state); err != nil || state != store.Failed {
		return err
	}
	l, err := r.find(ctx, shop, line)
	if errors.Is(err, store.ErrNotFound) {
		return nil // too far back to matter
	}
	if err != nil {
		return err
	}
	if l.Delivery != store.Failed { // it was delivered by an earlier report
		return nil
	}
	return r.Turns.Handle(ctx, shop, dead(l, "the gateway reported that it did not arrive"))
}

// find reads a line by its id, which begins with its conversation's.
func (r Reports) find(ctx context.Context, shop, id string) (conversation.Line, error) {
	cut := strings.LastIndexByte(id, '.')
	if cut < 0 {
		return conversation.Line{}, store.ErrNotFound
	}
	lines, err := r.Ledger.View(ctx, shop).Transcript(id[:cut], recent)
	if err != nil {
		return conversation.Line{}, err
	}
	for _, l := range lines {
		if l.ID == id {
			return l, nil
		}
	}
	return conversation.Line{}, store.ErrNotFound
}
