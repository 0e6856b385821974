// Package email is the channel of e-mail: messages come in by SMTP or posted with their
// raw text, and go out through a relay. Nobody's word is taken for an owner's before the
// author's domain or a token of ours has vouched for it; machines are never answered.
//
// A message is taken (250, 204) when its turn is durable, or was before: the same
// Message-ID changes nothing. Where the store or DNS fails the sender is told to come
// again, which mail systems do for days.
package email

import (
	"context"
	"errors"
	"fmt"
	"html/template"
	"io/fs"
	"log/slog"
	"strings"
	"time"

	"tubhand/internal/channel/email/authenticate"
	"tubhand/internal/channel/email/ticket"
	"tubhand/internal/channel/intake"
	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/mailbox"
	"tubhand/internal/shop"
	"tubhand/internal/store"
)

// Box is one shop's mailbox, its secrets read.
type Box struct {
	Shop *conversation.Shop
	Mail *shop.Mail
	Key  ticket.Key
	Hook func(*Posted) error // verifies what is posted; nil: nothing is taken that way
}

// Handler runs the turn of an event; turn.Runner is one. Any error means that nothing
// was committed.
type Handler interface {
	Handle(ctx context.Context, shop string, ev conversation.Event) error
}

// Reports takes delivery reports. An error that wraps store.ErrNotFound says that
// there is no such line.
type Reports interface {
	Delivered(ctx context.Context, shop, line, state string) error
}

// Records is the part of a store that mail is looked up in.
type Records interface {
	Load(ctx context.Context, shop, address string) (conversation.Conversation, error)
	View(ctx context.Context, shop string) store.View
}

// Config is what the inbound side works with. All but Observe must be given.
type Config struct {
	Boxes   []Box
	Turns   Handler
	Reports Reports
	Records Records
	DNS     authenticate.Resolver
	Clock   clock.Clock
	Log     *slog.Logger
	Pages   fs.FS                  // mail/*.html
	Urgent  func(text string) bool // is this an emergency? Such a message is never turned away
	Observe func(outcome string)   // of each message, for the metrics; may be nil
}

// Inbound takes mail. It is safe for concurrent use.
type Inbound struct {
	config Config
	boxes  map[string]*Box // by address
	shops  map[string]*Box // by shop key
	pace   *intake.Pace    // of authors
	pages  *template.Template
}

// How fast one author may write: more than anybody at a tub does, little enough that two
// machines that answer each other come to rest. RFC 3834, 2 asks for a limit and leaves
// it open; these are our decisions.
const (
	burst   = 20
	refill  = 3 * time.Minute
	tracked = 20_000 // authors, or hosts that connect, remembered at a time
)

// New makes the inbound side. It fails when two shops share an address, and where a key
// is too short.
func New(c Config) (*Inbound, error) {
	if c.Observe == nil {
		c.Observe = func(string) {}
	}
	pages, err := template.ParseFS(c.Pages, "mail/*.html")
	if err != nil {
		return nil, fmt.Errorf("email: %w", err)
	}
	in := &Inbound{config: c, boxes: map[string]*Box{}, shops: map[string]*Box{}, pace: intake.NewPace(burst, refill, tracked), pages: pages}
	for i := range c.Boxes {
		b := &c.Boxes[i]
		folded := strings.ToLower(b.Mail.Address)
		if other, taken := in.boxes[folded]; taken {
			return nil, fmt.Errorf("email: shops %q and %q both have the address %s; give each its own", other.Shop.Key, b.Shop.Key, b.Mail.Address)
		}
		if len(b.Key) < 16 {
			return nil, fmt.Errorf("email: shop %q: mail: key: holds %d bytes; put at least 16 bytes of chance there", b.Shop.Key, len(b.Key))
		}
		in.boxes[folded], in.shops[b.Shop.Key] = b, b
	}
	return in, nil
}

// box finds whose mailbox an address is, and its detail. Our own local parts are the
// same in capitals.
func (in *Inbound) box(address string) (b *Box, detail string, ok bool) {
	base, detail := mailbox.Detail(address)
	b, ok = in.boxes[strings.ToLower(base)]
	return b, detail, ok
}

// kinds of answers to whoever brings a message.
const (
	taken   = "taken"
	later   = "later"
	refused = "refused"
	passed  = "passed over" // taken and left alone
)

// answer is what whoever brought a message is told.
type answer struct {
	kind string
	code int    // refused: the SMTP reply
	why  string // plain, without anything of ours or the owner's
}

func refuse(code int, why string) answer { return answer{kind: refused, code: code, why: why} }

// patience is how long a turn may take.
const patience = 10 * time.Second

// hand runs a turn. Whoever brought the message and hangs up must not undo it half-way.
func (in *Inbound) hand(ctx context.Context, b *Box, ev conversation.Event) answer {
	ctx, done := context.WithTimeout(context.WithoutCancel(ctx), patience)
	defer done()
	if err := in.config.Turns.Handle(ctx, b.Shop.Key, ev); err != nil {
		in.config.Log.Error("a message was not taken", "shop", b.Shop.Key, "from", short(ev.From), "error", err)
		return answer{kind: later, why: "cannot take this right now"}
	}
	return answer{kind: taken}
}

// known tells whether a conversation with this address exists.
func (in *Inbound) known(ctx context.Context, b *Box, address string) (bool, error) {
	_, err := in.config.Records.Load(ctx, b.Shop.Key, address)
	if errors.Is(err, store.ErrNotFound) {
		return false, nil
	}
	return err == nil, err
}

// short is an address as logs may hold it: enough to tell two writers apart.
func short(address string) string {
	if len(address) < 2 {
		return "…"
	}
	return address[:1] + "…@" + mailbox.Of(address)
}
