// Package turn runs turns: it reads a conversation, lets it decide on an event, and
// commits the outcome with the event's mark. It is the only way into a conversation
// for texts, reminders, staff actions and failed deliveries alike.
//
// An event is handled once: Handle returns nil only when its effects are durable,
// whether this call made them so or an earlier one did. Any error means that nothing
// of the event was committed by this call, and that it may be handed in again.
package turn

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"runtime/debug"
	"time"

	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/phone"
	"tubhand/internal/store"
)

// The errors that a caller can act on; compare with errors.Is.
var (
	ErrBusy     = errors.New("the conversation keeps changing") // temporary: hand the event in again
	ErrPanic    = errors.New("the decision broke off")          // logged with its stack
	ErrNoShop   = errors.New("no such shop")
	ErrNoSender = errors.New("the event does not say whose it is")
)

// Decider decides one shop's turns. It must be pure; conversation.World is one.
type Decider interface {
	Decide(c conversation.Conversation, ev conversation.Event, now time.Time) (conversation.Conversation, conversation.Effects)
}

// Keeper is the part of a store that turns need.
type Keeper interface {
	Load(ctx context.Context, shop, address string) (conversation.Conversation, error)
	Commit(ctx context.Context, t store.Turn) error
}

// Config is what a Runner works with. Store, Shops, Clock and Log must be given.
type Config struct {
	Store     Keeper
	Shops     map[string]Decider // by shop key
	Clock     clock.Clock
	Log       *slog.Logger
	Observe   func(Observation)                               // after each turn; may be nil
	Committed func(shop string, effects conversation.Effects) // after each commit; may be nil
	OptOuts   OptOuts                                         // who wants nothing more, beside conversations; may be nil
}

// Observation tells how one turn went, for the metrics.
type Observation struct {
	Kind    conversation.Kind
	Outcome string // Committed, Duplicate, Failed
	Took    time.Duration
}

// The outcomes of a turn.
const (
	Committed = "committed"
	Duplicate = "duplicate"
	Failed    = "failed"
)

// attempts is how often a turn is decided anew when the conversation changed under it.
// In one process the locks prevent that; it takes several to get there.
const attempts = 8

// Runner runs the turns of one or more shops. It is safe for concurrent use: turns of
// one conversation follow each other, all others go side by side.
type Runner struct {
	config Config
	locks  locks
}

// New makes a Runner.
func New(c Config) *Runner {
	if c.Observe == nil {
		c.Observe = func(Observation) {}
	}
	if c.Committed == nil {
		c.Committed = func(string, conversation.Effects) {}
	}
	return &Runner{config: c, locks: locks{held: map[string]*lock{}}}
}

// Handle runs the turn of one event. Errors wrap one of this package's, the context's,
// or the store's.
func (r *Runner) Handle(ctx context.Context, shop string, ev conversation.Event) error {
	began := r.config.Clock.Now()
	outcome, err := r.handle(ctx, shop, ev)
	r.config.Observe(Observation{Kind: ev.Kind, Outcome: outcome, Took: r.config.Clock.Now().Sub(began)})
	if err != nil {
		return fmt.Errorf("turn: %s: %w", ev.Kind, err)
	}
	return nil
}

func (r *Runner) handle(ctx context.Context, shop string, ev conversation.Event) (outcome string, err error) {
	decider, ok := r.config.Shops[shop]
	if !ok {
		return Failed, ErrNoShop
	}
	if ev.From == "" {
		return Failed, ErrNoSender
	}
	unlock, err := r.locks.acquire(ctx, shop+" "+ev.From)
	if err != nil {
		return Failed, err
	}
	defer unlock()
	for range attempts {
		err := r.once(ctx, decider, shop, ev)
		switch {
		case err == nil:
			return Committed, nil
		case errors.Is(err, store.ErrDuplicate):
			return Duplicate, nil
		case !errors.Is(err, store.ErrConflict):
			return Failed, err
		}
	}
	return Failed, ErrBusy
}

// once reads, decides and commits.
func (r *Runner) once(ctx context.Context, d Decider, shop string, ev conversation.Event) error {
	c, err := r.config.Store.Load(ctx, shop, ev.From)
	if errors.Is(err, store.ErrNotFound) && begins(ev.Kind) {
		c, err = r.begin(ctx, shop, ev)
	}
	if err != nil {
		return err
	}
	if ev.Other, err = r.other(ctx, shop, &c, ev); err != nil {
		return err
	}
	now := r.config.Clock.Now().UTC().Truncate(time.Millisecond) // as stores keep it
	next, effects, err := r.decide(d, c, ev, now)
	if err != nil {
		return err
	}
	if ev.Barred, err = r.barred(ctx, shop, &next, effects); err != nil {
		return err
	}
	if ev.Barred != "" {
		if next, effects, err = r.decide(d, c, ev, now); err != nil {
			return err
		}
	}
	next.Version = c.Version
	if err := r.keepOptOuts(ctx, shop, &c, &next, now); err != nil {
		return err
	}
	err = r.config.Store.Commit(ctx, store.Turn{Shop: shop, Event: ev.ID, Now: now, State: next, Effects: effects})
	if err != nil {
		return err
	}
	r.config.Committed(shop, effects)
	r.liftOptOuts(ctx, shop, &c, &next)
	return nil
}

// begins tells whether a conversation may begin with such an event.
func begins(k conversation.Kind) bool {
	return k == conversation.TextIn || k == conversation.StaffAct || k == conversation.UnprovenIn
}

// other is the conversation that an address leads to which may be linked in this turn;
// nil where there is none. Linking takes the address away from it.
func (r *Runner) other(ctx context.Context, shop string, c *conversation.Conversation, ev conversation.Event) (*conversation.Conversation, error) {
	if ev.Kind != conversation.TextIn || c.Link == nil {
		return nil, nil
	}
	other, err := r.config.Store.Load(ctx, shop, c.Link.To)
	if errors.Is(err, store.ErrNotFound) || err == nil && other.ID == c.ID {
		return nil, nil
	}
	return &other, err
}

// first is the conversation that begins with an event.
func first(shop string, ev conversation.Event) conversation.Conversation {
	return conversation.Conversation{Shop: shop, ID: ev.From, Owner: conversation.Owner{
		Addresses: []string{ev.From},
		Language:  ev.Language,
		TimeZone:  ev.TimeZone,
		Region:    ev.Region,
	}}
}

// decide keeps a panic of the decision from taking the server along. Nothing has been
// written by then, so whoever sent the event can send it again.
func (r *Runner) decide(d Decider, c conversation.Conversation, ev conversation.Event, now time.Time) (
	next conversation.Conversation, effects conversation.Effects, err error) {
	defer func() {
		if p := recover(); p != nil {
			r.config.Log.Error("a decision panicked", "shop", c.Shop, "conversation", phone.Short(c.ID),
				"event", ev.ID, "kind", string(ev.Kind), "panic", fmt.Sprint(p), "stack", string(debug.Stack()))
			err = ErrPanic
		}
	}()
	next, effects = d.Decide(c, ev, now)
	return next, effects, nil
}
