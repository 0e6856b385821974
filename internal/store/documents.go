package store

import (
	"context"
	"errors"
	"time"
)

// ErrRefused says that a document or an audit entry breaks a bound and can't be kept; the
// error around it says which.
var ErrRefused = errors.New("cannot be kept")

// The bounds of documents and audit entries.
const (
	MostValue   = 64 << 10 // bytes of a document's value
	MostKind    = 64       // bytes of a kind: small letters, digits, '_' and '-'
	MostKey     = 512      // bytes of a key: UTF-8 without control characters
	MostListed  = 500      // documents or entries in one answer, entries in one Append
	MostWord    = 256      // bytes of an entry's Who, Act and About each
	MostDetails = 4 << 10  // bytes of an entry's Detail
)

// Document is a small value of a shop, found by its kind and key.
type Document struct {
	Kind, Key string
	Value     []byte
	Version   int64     // as read; 0 for a document that is to be new
	Expires   time.Time // from then on it is gone; zero: never. Kept to the millisecond
}

// Documents keeps small values beside conversations: accounts, sessions, settings. A
// document that has expired by the now that is passed is gone in every respect; the store
// forgets it some time later. Documents of a shop are seen by that shop alone. What is
// acknowledged is durable, as a turn is.
type Documents interface {
	// Document returns a document. ErrNotFound when there is none.
	Document(ctx context.Context, shop, kind, key string, now time.Time) (Document, error)

	// PutDocument writes a document over the one with the version that was read (0: where
	// there is none). Its version becomes one more. ErrConflict when another version is
	// there, or none where one was read: nothing is written. ErrRefused for what breaks a
	// bound. A document that is deleted and made anew begins at version 1 again.
	PutDocument(ctx context.Context, shop string, d Document, now time.Time) error

	// DeleteDocument removes a document. ErrNotFound when there is none; so of several who
	// delete the same one, one is told that it was there.
	DeleteDocument(ctx context.Context, shop, kind, key string, now time.Time) error

	// Documents lists documents of a kind whose keys are greater than after, in the byte
	// order of their keys, at most n (1 to MostListed).
	Documents(ctx context.Context, shop, kind, after string, n int, now time.Time) ([]Document, error)
}

// AuditEntry is one thing that somebody did at a shop.
type AuditEntry struct {
	Num    int64     // given by the store, growing; the place to read on from
	At     time.Time // kept to the millisecond
	Who    string    // whose doing: an account's key, or "" where nobody is known
	Act    string    // what was done, one short word or two
	About  string    // to what: a conversation, a handover, an account
	Detail string    // more, for people
}

// Audit keeps what was done at a shop, in the order in which it was told. Entries are never
// changed, and leave only by TrimAudit.
type Audit interface {
	// AppendAudit adds up to MostListed entries, all or none, and returns when they are
	// durable. ErrRefused for what breaks a bound.
	AppendAudit(ctx context.Context, shop string, entries ...AuditEntry) error

	// Audit lists entries newest first, at most n (1 to MostListed): those before the entry
	// with this number, or the newest where before is 0.
	Audit(ctx context.Context, shop string, before int64, n int) ([]AuditEntry, error)

	// TrimAudit drops entries from the oldest on, as far as they are from before the time,
	// and returns how many went.
	TrimAudit(ctx context.Context, shop string, before time.Time) (int, error)
}

// ListedDocuments reads all of a shop, for moving it to another store.
type ListedDocuments interface {
	// AllDocuments lists up to n documents (1 to MostListed), expired ones too, in the order
	// of kinds and keys, after the one with this kind and key ("", "" for the first).
	AllDocuments(ctx context.Context, shop, kind, key string, n int) ([]Document, error)

	// AuditFrom lists up to n entries (1 to MostListed) oldest first, after that with this number.
	AuditFrom(ctx context.Context, shop string, after int64, n int) ([]AuditEntry, error)
}
