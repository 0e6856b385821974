// Package dispatch does what turns have decided: it sends what is in the outbox and
// hands due reminders in as events. It is the only one that acts on effects.
//
// Sending is at least once, in the order of each conversation for each recipient, with the
// same key at each attempt. A reminder is exactly once in effect: its id is the mark of its event, so
// that it may be handed in again after a crash.
package dispatch

import (
	"context"
	"log/slog"
	"sync"
	"time"

	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

// Queue is the part of a store that dispatch works from.
type Queue interface {
	ClaimOutbox(ctx context.Context, now time.Time, lease time.Duration, n int) ([]store.Outgoing, error)
	SettleOutbox(ctx context.Context, results []store.Result) error
	ClaimDue(ctx context.Context, now time.Time, lease time.Duration, n int) ([]store.Due, error)
	NextDue(ctx context.Context) (at time.Time, ok bool, err error)
}

// Handler runs the turn of an event; turn.Runner is one.
type Handler interface {
	Handle(ctx context.Context, shop string, ev conversation.Event) error
}

// Sender hands one message to its carrier, once, and tells how that went: Kind, Why,
// and a Next that the carrier asked for. It gives up when ctx ends.
type Sender interface {
	Send(ctx context.Context, shop string, l conversation.Line) store.Result
}

// Config is what a Dispatcher works with. Queue, Turns, Sender, Clock, Log and Random
// must be given.
type Config struct {
	Queue   Queue
	Turns   Handler
	Sender  func(shop, gateway string) (Sender, bool)
	Clock   clock.Clock
	Log     *slog.Logger
	Random  func() float64                          // in [0,1): spreads retries
	Observe func(result string, took time.Duration) // after each attempt to send: store.Sent, ...; may be nil
	Senders int                                     // attempts to send at a time; 0 is 256
	Turners int                                     // reminders handled at a time; 0 is 64, so that a text does not stand behind hundreds
	Look    time.Duration                           // the longest rest, for a queue that other processes fill and leave work in; 0: no limit
}

// Life of a claim: longer than an attempt may take with its settling, short enough
// that what a crash left behind does not keep an owner waiting.
const (
	sendTimeout = 10 * time.Second
	turnTimeout = 10 * time.Second
	lease       = 20 * time.Second
)

// pause is how long to wait before asking a store again that has failed, and between
// looks at something that is due but leased to someone else.
const pause = 500 * time.Millisecond

// Dispatcher runs the outbox and the reminders of a store.
type Dispatcher struct {
	outbox    *outbox
	reminders *reminders

	mu      sync.Mutex
	stop    context.CancelFunc // nil before Start
	stopped bool
	started chan struct{}
	still   chan struct{} // closed when both loops have ended
}

// New makes a Dispatcher that does nothing until it is started.
func New(c Config) *Dispatcher {
	if c.Observe == nil {
		c.Observe = func(string, time.Duration) {}
	}
	if c.Senders == 0 {
		c.Senders = 256
	}
	if c.Turners == 0 {
		c.Turners = 64
	}
	return &Dispatcher{
		outbox:    &outbox{Config: c, wake: make(chan struct{}, 1), mine: make(map[message]bool)},
		reminders: &reminders{Config: c, wake: make(chan struct{}, 1)},
		started:   make(chan struct{}),
		still:     make(chan struct{}),
	}
}

// Start begins the work. When ctx ends, attempts in hand are cut short as well. A
// second Start, and one after Stop, does nothing.
func (d *Dispatcher) Start(ctx context.Context) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.stop != nil || d.stopped {
		return
	}
	claiming, stop := context.WithCancel(ctx)
	d.stop = stop
	var both sync.WaitGroup
	both.Go(func() { d.outbox.run(claiming, ctx) })
	both.Go(func() { d.reminders.run(claiming, ctx) })
	go func() {
		both.Wait()
		close(d.still)
	}()
	close(d.started)
}

// Started is closed once the work has begun.
func (d *Dispatcher) Started() <-chan struct{} { return d.started }

// Stop claims nothing more, lets what is in hand end, and returns when all is still. It
// may be called twice, and before Start.
func (d *Dispatcher) Stop() {
	d.mu.Lock()
	d.stopped = true
	stop := d.stop
	d.mu.Unlock()
	if stop == nil {
		return
	}
	stop()
	<-d.still
}

// Poke has the dispatcher look at once for what a turn has left: messages, reminders.
// It never waits.
func (d *Dispatcher) Poke(effects conversation.Effects) {
	for _, l := range effects.Lines {
		if l.Send {
			poke(d.outbox.wake)
			break
		}
	}
	if len(effects.Remind) > 0 {
		poke(d.reminders.wake)
	}
}

func poke(wake chan struct{}) {
	select {
	case wake <- struct{}{}:
	default:
	}
}

// rest waits for the next thing to do: the store's next due time, a wake-up, or the
// end of ctx. Now is when the claim was made: what has come due since is claimed at
// once. What was due then but was not given out is leased to someone; it is
// looked at again in a moment.
func (c *Config) rest(ctx context.Context, now time.Time, wake <-chan struct{}) {
	at, ok, err := c.Queue.NextDue(ctx)
	switch {
	case err != nil:
		if ctx.Err() == nil {
			c.Log.Error("the store does not tell what is due", "error", err)
		}
		at = now.Add(pause)
	case !ok:
		at = time.Time{}
	case !at.After(now):
		at = now.Add(pause)
	}
	if look := now.Add(c.Look); c.Look > 0 && (at.IsZero() || at.After(look)) {
		at = look
	}
	_ = c.Clock.Wait(ctx, at, wake)
}
