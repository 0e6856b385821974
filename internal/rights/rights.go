// Package rights carries out what owners and the law may ask of a shop: that an opt-out
// holds whatever conversation an address comes back in, that an owner sees everything
// that is kept of them, that it is erased, and that what is old goes by itself. Each act
// is written down in the shop's audit log.
package rights

import (
	"context"
	"errors"
	"time"

	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

// Store is what is needed of a store.
type Store interface {
	Load(ctx context.Context, shop, address string) (conversation.Conversation, error)
	View(ctx context.Context, shop string) store.View
	store.Documents
	store.Audit
	store.Rights
}

// The errors that a caller can act on; compare with errors.Is.
var (
	ErrNothing   = errors.New("nothing is kept of this address")
	ErrEmergency = errors.New("an emergency is open there")
	ErrChanging  = errors.New("the conversation keeps changing")
	ErrOtherKey  = errors.New("the shop's opt-outs were kept with another secret")
)

// Config says whose rights are served. All fields are required.
type Config struct {
	Store    Store
	Shop     string // the shop's key
	Clock    clock.Clock
	Register *Register
}

// Desk serves the owners of one shop. It is safe for concurrent use.
type Desk struct{ Config }

// New opens a shop's desk.
func New(c Config) *Desk { return &Desk{c} }

func (d *Desk) now() time.Time { return d.Clock.Now().UTC().Truncate(time.Millisecond) }

// tell writes an act down. About is never an address: it would outlive what was erased.
func (d *Desk) tell(ctx context.Context, who, act, about, detail string) error {
	return d.Store.AppendAudit(ctx, d.Shop, store.AuditEntry{At: d.now(), Who: who, Act: act, About: about, Detail: detail})
}
