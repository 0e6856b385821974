// Package channel says what every way to reach an owner has in common. Its
// subpackages are the ways: texts through HTTP gateways (sms) and the pretend phone
// of the demo (pocket).
package channel

import (
	"context"
	"time"

	"tubhand/internal/conversation"
)

// Sender carries messages out to owners. It is safe for concurrent use.
type Sender interface {
	// Send tries once to hand the line of a shop over to its carrier. Key is the
	// idempotency key: unique among all shops, and the same at each attempt, since a
	// message can be sent again after a crash although it has gone out before.
	Send(ctx context.Context, key string, l conversation.Line) Outcome
}

// Outcome is how an attempt to send ended.
type Outcome struct {
	Kind  string        // store.Sent, store.Retry or store.Failed
	After time.Duration // Retry: not sooner than this, when the carrier says so
	Why   string        // Retry, Failed: in a few words, with no text and no number
}

// Key is the idempotency key of a shop's line, fit to be told to a carrier.
func Key(shop, line string) string { return shop + "/" + line }
