package dispatch

import (
	"context"
	"fmt"
	"sync"
	"time"

	"tubhand/internal/conversation"
	"tubhand/internal/phone"
	"tubhand/internal/store"
)

// outbox sends. One goroutine claims and settles, in batches as large as what has
// gathered meanwhile; each attempt has a goroutine of its own.
type outbox struct {
	Config
	wake chan struct{}    // a turn left messages, or an attempt ended
	mine map[message]bool // in hand: claimed and not settled; run's alone

	mu   sync.Mutex
	done []store.Result // attempts that ended and are not settled yet
}

// message names one in the outbox.
type message struct{ shop, line string }

// run works until claiming ends and the last attempt is settled. When sending ends
// too, attempts in hand are cut short.
func (o *outbox) run(claiming, sending context.Context) {
	sending, cut := context.WithCancel(sending)
	defer cut()
	for inHand := 0; ; {
		inHand -= o.settle(claiming, sending)
		if claiming.Err() != nil {
			if inHand == 0 {
				return
			}
			<-o.wake
			continue
		}
		free := o.Senders - inHand
		now := o.Clock.Now()
		claimed := o.claim(now, free)
		for _, m := range claimed {
			if o.take(m) {
				inHand++
				go o.attempt(sending, m)
			}
		}
		if len(claimed) < free || free == 0 {
			o.rest(claiming, now, o.wake)
		}
	}
}

// claim is not cut short: what was leased and not heard of would wait for its lease.
func (o *outbox) claim(now time.Time, n int) []store.Outgoing {
	if n == 0 {
		return nil
	}
	ctx, done := context.WithTimeout(context.Background(), turnTimeout)
	defer done()
	claimed, err := o.Queue.ClaimOutbox(ctx, now, lease, n)
	if err != nil {
		o.Log.Error("the outbox cannot be read", "error", err)
	}
	return claimed
}

// take notes a message as in hand. One that is already has outlived its lease, as when the
// machine slept, its clock was set, or the store could not be told: sent again now it
// might arrive after its successor.
func (o *outbox) take(m store.Outgoing) bool {
	key := message{m.Shop, m.Line.ID}
	if o.mine[key] {
		return false
	}
	o.mine[key] = true
	return true
}

// settle tells the store how attempts ended and gives back how many there were. When
// the store fails they are kept for the next time; at the end, when nothing else will
// come, it is asked a few times more. What then stays unsettled goes out again when
// its lease has run out.
func (o *outbox) settle(claiming, sending context.Context) int {
	o.mu.Lock()
	results := o.done
	o.done = nil
	o.mu.Unlock()
	if len(results) == 0 {
		return 0
	}
	for range 5 {
		ctx, done := context.WithTimeout(context.WithoutCancel(sending), turnTimeout)
		err := o.Queue.SettleOutbox(ctx, results)
		done()
		if err == nil {
			for _, r := range results {
				delete(o.mine, message{r.Shop, r.Line})
			}
			return len(results)
		}
		o.Log.Error("sent messages cannot be settled", "count", len(results), "error", err)
		if claiming.Err() == nil {
			o.keep(results...)
			poke(o.wake)
			_ = o.Clock.Wait(claiming, o.Clock.Now().Add(pause), nil)
			return 0
		}
	}
	return len(results)
}

// keep puts ended attempts where settle finds them.
func (o *outbox) keep(results ...store.Result) {
	o.mu.Lock()
	o.done = append(o.done, results...)
	o.mu.Unlock()
}

// attempt tries once to send and leaves its result.
func (o *outbox) attempt(ctx context.Context, m store.Outgoing) {
	began := o.Clock.Now()
	r := o.send(ctx, m)
	r.Shop, r.Line = m.Shop, m.Line.ID
	if r.Kind == store.Retry && m.Attempt >= maxAttempts {
		r.Kind = store.Failed
		r.Why = fmt.Sprintf("given up after %d attempts: %s", m.Attempt, r.Why)
	}
	if r.Kind == store.Failed {
		r = o.bury(ctx, m, r)
	}
	if r.Kind == store.Retry {
		if again := o.Clock.Now().Add(backoff(m.Attempt, o.Random())); r.Next.Before(again) {
			r.Next = again
		}
	}
	o.Observe(r.Kind, o.Clock.Now().Sub(began))
	o.keep(r)
	poke(o.wake)
}

func (o *outbox) send(ctx context.Context, m store.Outgoing) (r store.Result) {
	sender, ok := o.Sender(m.Shop, m.Line.Gateway)
	if !ok {
		return store.Result{Kind: store.Failed, Why: "no such gateway: " + m.Line.Gateway}
	}
	ctx, done := context.WithTimeout(ctx, sendTimeout)
	defer done()
	defer func() {
		if p := recover(); p != nil {
			o.Log.Error("a sender panicked", "shop", m.Shop, "gateway", m.Line.Gateway, "panic", fmt.Sprint(p))
			r = store.Result{Kind: store.Retry, Why: "the sender broke off"}
		}
	}()
	return sender.Send(ctx, m.Shop, m.Line)
}

// bury makes a message that will never arrive a case for a person, before it leaves
// the outbox: in this order neither is lost. While that fails it counts as not sent yet.
func (o *outbox) bury(ctx context.Context, m store.Outgoing, r store.Result) store.Result {
	o.Log.Warn("a message cannot be delivered", "shop", m.Shop, "to", phone.Short(m.Line.To),
		"gateway", m.Line.Gateway, "attempts", m.Attempt, "why", r.Why)
	ctx, done := context.WithTimeout(ctx, turnTimeout)
	defer done()
	if err := o.Turns.Handle(ctx, m.Shop, dead(m.Line, r.Why)); err != nil {
		o.Log.Error("a failed delivery found no person yet", "shop", m.Shop, "error", err)
		return store.Result{Shop: r.Shop, Line: r.Line, Kind: store.Retry, Why: r.Why}
	}
	return r
}

// dead is the event of a message that will not arrive.
func dead(l conversation.Line, why string) conversation.Event {
	return conversation.Event{ID: "dead:" + l.ID, Kind: conversation.DeliveryDead,
		From: l.Conversation, Gateway: l.Gateway, Failed: l, Remark: why}
}
