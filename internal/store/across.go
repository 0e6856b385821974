package store

import (
	"context"
	"time"

	"tubhand/internal/conversation"
)

// Across is what people look for over all conversations of a shop. It is part of View.
type Across interface {
	// Find lists conversations in which every word of the query occurs, those begun last
	// first, at most n (1 to 500): a part of the owner's name, of an address (of a number
	// any of its digits, however they are parted) or of what is known of the tub. Upper case and
	// accents make no difference; "" finds all. After is "" or the next of the answer
	// before; next is "" at the end. A query that few letters tell apart looks at no more
	// than some thousand conversations: fewer than n with a next is not the end.
	Find(query string, n int, after string) (cards []Card, next string, err error)

	// Upcoming lists the shop's pending reminders that are due from a time until before
	// another, earliest first, at most n (1 to 500), each with its conversation. One that is
	// being handled at the moment may be missing.
	Upcoming(from, until time.Time, n int) ([]Coming, error)

	// Tallies lists what was counted from a day up to and with another ("2026-06-13", days
	// of the shop), by day, kind and key; of these kinds only, or of all where none is named.
	Tallies(from, until string, kinds ...string) ([]conversation.Tally, error)
}

// Coming is a reminder and whose it is.
type Coming struct {
	Reminder conversation.Reminder
	State    conversation.Conversation
}

// Tallied writes counts as they are, for moving them to another store. Turns add to them by
// Effects.Tally.
type Tallied interface {
	// PutTallies sets counts, whatever was there. ErrRefused for a day that is none, and
	// for kinds and keys that are too long.
	PutTallies(ctx context.Context, shop string, list []conversation.Tally) error
}

// MostTallies is how many counts a turn or a PutTallies may have.
const MostTallies = 500
