package turn

import (
	"context"
	"slices"
	"time"

	"tubhand/internal/conversation"
	"tubhand/internal/phone"
)

// OptOuts are the addresses that want nothing more, whatever conversation they come back
// in. It is safe for concurrent use.
type OptOuts interface {
	Since(ctx context.Context, shop, address string) (since time.Time, out bool, err error)
	Keep(ctx context.Context, shop, address string, since time.Time) error
	Lift(ctx context.Context, shop, address string) error
}

// begin is the conversation that begins with an event. Whoever has opted out before, in a
// conversation that is no more, is still opted out.
func (r *Runner) begin(ctx context.Context, shop string, ev conversation.Event) (conversation.Conversation, error) {
	c := first(shop, ev)
	if r.config.OptOuts == nil {
		return c, nil
	}
	since, out, err := r.config.OptOuts.Since(ctx, shop, ev.From)
	if out {
		c.OptOut(ev.From, since)
	}
	return c, err
}

// barred finds an address that a turn would write to, that is not the owner's and has
// opted out; "" where there is none. Pages go to staff.
func (r *Runner) barred(ctx context.Context, shop string, next *conversation.Conversation, fx conversation.Effects) (string, error) {
	for _, l := range fx.Lines {
		if r.config.OptOuts == nil || !l.Send || l.Direction == conversation.Page || slices.Contains(next.Owner.Addresses, l.To) {
			continue
		}
		_, out, err := r.config.OptOuts.Since(ctx, shop, l.To)
		if err != nil {
			return "", err
		}
		if !out {
			other, err := r.config.Store.Load(ctx, shop, l.To)
			out = err == nil && other.Silenced(l.To)
		}
		if out {
			return l.To, nil
		}
	}
	return "", nil
}

// keepOptOuts notes new opt-outs before the turn is committed: should that fail, an
// opt-out too many is known, and the text comes again.
func (r *Runner) keepOptOuts(ctx context.Context, shop string, c, next *conversation.Conversation, now time.Time) error {
	if r.config.OptOuts == nil || !next.OptedOut && len(next.Consent.Out) == 0 {
		return nil
	}
	for _, a := range next.Owner.Addresses {
		if next.Silenced(a) && (!c.Silenced(a) || !slices.Contains(c.Owner.Addresses, a)) {
			if err := r.config.OptOuts.Keep(ctx, shop, a, now); err != nil {
				return err
			}
		}
	}
	return nil
}

// liftOptOuts takes back what an owner's own word has lifted, after the turn is committed.
// Should it fail, they are answered all the same; the conversation is what counts while
// it is there.
func (r *Runner) liftOptOuts(ctx context.Context, shop string, c, next *conversation.Conversation) {
	if r.config.OptOuts == nil || !c.OptedOut && len(c.Consent.Out) == 0 {
		return
	}
	for _, a := range next.Owner.Addresses {
		if !c.Silenced(a) || next.Silenced(a) {
			continue
		}
		if err := r.config.OptOuts.Lift(ctx, shop, a); err != nil {
			r.config.Log.Error("an opt-out was not lifted in the register", "shop", shop, "conversation", phone.Short(c.ID), "error", err)
		}
	}
}
