// Package store keeps conversations. The interface below is the whole contract: what
// is atomic, what is ordered, what may repeat. Package storetest checks it, and every
// store passes the same suite.
package store

import (
	"context"
	"errors"
	"time"

	"tubhand/internal/conversation"
)

// The errors that a caller can act on; compare with errors.Is.
var (
	ErrNotFound  = errors.New("not found")
	ErrConflict  = errors.New("changed meanwhile") // read again, decide again
	ErrDuplicate = errors.New("already handled")   // the event's effects are already in the store
	ErrClosed    = errors.New("the store is closed")
)

// Turn is one decided turn: the new state and its effects, for one shop.
type Turn struct {
	Shop    string
	Event   string // the dedupe mark; "" only in imports, which have none
	Now     time.Time
	State   conversation.Conversation // State.Version is the version that was read
	Effects conversation.Effects
}

// Store is durable memory shared by all that runs. All methods are safe for concurrent
// use. A shop never sees another shop's records: every id below is scoped by its shop.
// Times are kept to the millisecond.
type Store interface {
	// Load returns the conversation that owns the address. ErrNotFound when none does.
	Load(ctx context.Context, shop, address string) (conversation.Conversation, error)

	// Commit writes a turn: state, transcript, outbox, reminders, handovers, log, tallies and
	// dedupe mark, all or nothing, and returns only when it is durable. The stored
	// version becomes State.Version+1. ErrDuplicate when the mark was committed before
	// (checked first), ErrConflict when the stored version is not State.Version; both
	// write nothing. After any other error the turn may have been written or not: hand the
	// event in again. Every address of the owner leads to the conversation from then on.
	// Marks are kept for at least 72 hours. An event is of one conversation: its mark is
	// known there, and where its address has moved to; whether another conversation's
	// turn may have the same one is not promised. Cancel and Event reach the reminders of the
	// turn's own conversation; what is cancelled goes before what is set. A Line with
	// Send is queued unless it already has a delivery state, as an imported one has.
	// DropUnsent drops the lines that waited before this turn, but for pages: those call
	// staff, and it was not staff who asked for silence.
	Commit(ctx context.Context, t Turn) error

	// ClaimOutbox leases up to n messages that are ready at now, oldest first. A
	// conversation's messages to one recipient (Line.To) make a queue: given out is at most
	// one of a queue, its oldest that is neither sent, failed nor dropped. While a lease
	// runs no other message of that queue is given out; a lease that ran out is given out
	// again. At least once, in order per queue; the queues of a conversation don't wait
	// for each other, so that a page to staff never stands behind a text that cannot be
	// delivered. A message never tried is always ready and goes before retries, whose age
	// counts from their Next.
	ClaimOutbox(ctx context.Context, now time.Time, lease time.Duration, n int) ([]Outgoing, error)

	// SettleOutbox records how attempts ended, those of a shop in one step; settling again
	// after an error is harmless. A retry becomes ready at its Next; the others leave the
	// outbox and show in the transcript's delivery state. A line that has left the outbox
	// already is passed over, but that it was sent shows.
	SettleOutbox(ctx context.Context, results []Result) error

	// ClaimDue leases up to n reminders due at now, earliest first. A reminder leaves the
	// store when a turn whose Event is its id is committed, or is cancelled; a lease that
	// ran out is given out again.
	ClaimDue(ctx context.Context, now time.Time, lease time.Duration, n int) ([]Due, error)

	// NextDue is when the next reminder or message of all shops can be claimed: its time,
	// or the end of its lease while one runs; ok false when nothing is pending.
	NextDue(ctx context.Context) (at time.Time, ok bool, err error)

	// Delivered records a delivery report: the line's delivery state moves forward only
	// (queued, dropped, sent, delivered or failed). A line that was reported on leaves
	// the outbox. ErrNotFound for a line that is not there or was never to be sent.
	Delivered(ctx context.Context, shop, line, state string) error

	// View reads for people: the console and reports.
	View(ctx context.Context, shop string) View

	// Watch tells, until ctx ends, which conversations of a shop changed. Changes may be
	// merged or dropped for a slow reader, who then gets a Change with no Conversation:
	// read everything again.
	Watch(ctx context.Context, shop string) <-chan Change

	// Close ends the store when all work in hand is done. It may be called twice. What
	// is called later fails with ErrClosed.
	Close() error

	Documents
	Audit
	Rights
	Tallied
}

// Outgoing is a message to send.
type Outgoing struct {
	Shop    string
	Line    conversation.Line // ID is the idempotency key
	Attempt int               // 1 at the first
}

// Due is a reminder whose time has come.
type Due struct {
	Shop     string
	Reminder conversation.Reminder
}

// Result is how an attempt to send ended.
type Result struct {
	Shop string
	Line string    // the line's id
	Kind string    // Sent, Retry, Failed
	Next time.Time // Retry: not before
	Why  string    // Retry, Failed: for the log and the console
}

// The ways an attempt can end.
const (
	Sent   = "sent"
	Retry  = "retry"
	Failed = "failed"
)

// Change says that a conversation changed.
type Change struct {
	Shop         string
	Conversation string
}

// View is one shop seen by people. Each method reads a consistent moment.
type View interface {
	Across
	// Board lists conversations, those changed last first, at most limit (1 to 500).
	Board(limit int) ([]Card, error)
	// Conversation returns the record with this id. ErrNotFound when there is none.
	Conversation(id string) (conversation.Conversation, error)
	// Transcript returns up to limit last lines, oldest first.
	Transcript(id string, limit int) ([]conversation.Line, error)
	// Log returns up to limit last entries of the tub's log, oldest first.
	Log(id string, limit int) ([]conversation.LogEntry, error)
	// Handovers lists those that are open (closed false), worst and then oldest first, or
	// those that are closed, last closed first.
	Handovers(closed bool, limit int) ([]conversation.Handover, error)
	// Reminders lists what is pending for a conversation, earliest first.
	Reminders(id string) ([]conversation.Reminder, error)
	// Counts gives totals: conversations, turns committed, outbox waiting, reminders pending, handovers open.
	Counts() (Counts, error)
}

// Card is a conversation at a glance.
type Card struct {
	State   conversation.Conversation
	Last    conversation.Line // the last line that was said, not a note; zero when none
	NextDue time.Time         // the next reminder; zero when none
	Changed time.Time
}

// Listed is a conversation in a list of all, as stores give it to be moved.
type Listed struct {
	ID      string
	Changed time.Time
}

// Counts are a shop's totals.
type Counts struct {
	Conversations, Turns, Outbox, Reminders, Handovers int64
}
