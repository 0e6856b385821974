package store

import (
	"context"
	"time"
)

// Erased is how much of a conversation went.
type Erased struct {
	Lines     int `json:"lines"`
	Entries   int `json:"log_entries"`
	Handovers int `json:"cases"`
	Reminders int `json:"reminders"`
}

// Rights is what owners and the law may ask of a store: that things end.
type Rights interface {
	// EraseConversation removes a conversation with everything kept of it, all or nothing, and returns
	// when that is durable: record, addresses, transcript, log, reminders, outbox and
	// handovers, open or closed, as far as their ids begin with the conversation's and a
	// dot, as Decide makes them. The shop's count of turns stays. Version is the one that
	// was read: ErrConflict when another is there, ErrNotFound when there is none. Dedupe
	// marks go too, or end by themselves: an event that is repeated all the same begins anew.
	EraseConversation(ctx context.Context, shop, id string, version int64) (Erased, error)

	// TrimTranscripts drops lines said before a time, as far as nothing waits to be sent
	// before them. It looks at no more than about n records from where after says ("" at
	// first), and returns how many lines went and where to go on; "" at the end.
	TrimTranscripts(ctx context.Context, shop string, before time.Time, after string, n int) (gone int, next string, err error)

	// TrimHandovers drops up to n handovers that were closed before a time, and returns how
	// many went.
	TrimHandovers(ctx context.Context, shop string, before time.Time, n int) (gone int, err error)

	// Listed lists up to limit of a shop's conversations, those changed first first, from
	// the skip-th on.
	Listed(ctx context.Context, shop string, skip, limit int) ([]Listed, error)
}
