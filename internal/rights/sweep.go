package rights

import (
	"context"
	"errors"
	"fmt"
	"time"

	"tubhand/internal/clock"
	"tubhand/internal/store"
)

// Retention is how many months things are kept; 0 is for good. An owner's readings and
// doses go with their conversation.
type Retention struct {
	Transcripts int // what was said
	Cases       int // handovers, from when they were closed
	Idle        int // conversations in which nothing has happened, with all that is kept of the owner
	Audit       int // what staff did
}

// Swept is what a sweep removed.
type Swept struct{ Lines, Cases, Owners, Acts int }

// step is how many records one step of a sweep looks at, and rest how long it then leaves
// the store to the turns. Our decisions.
const (
	step = 200
	rest = 100 * time.Millisecond
)

// bySweep is who did it, in the audit log.
const bySweep = "retention"

// Sweep removes what is older than the shop keeps it, a little at a time. Whoever has
// something under way or still to come is not idle. Several servers may sweep at once.
func (d *Desk) Sweep(ctx context.Context, keep Retention) (swept Swept, err error) {
	now := d.now()
	for _, one := range []struct {
		months int
		gone   *int
		sweep  func(ctx context.Context, before time.Time) (int, error)
	}{
		{keep.Idle, &swept.Owners, d.sweepIdle},
		{keep.Transcripts, &swept.Lines, d.sweepTranscripts},
		{keep.Cases, &swept.Cases, d.sweepCases},
		{keep.Audit, &swept.Acts, func(ctx context.Context, before time.Time) (int, error) {
			return d.Store.TrimAudit(ctx, d.Shop, before)
		}},
	} {
		if one.months <= 0 {
			continue
		}
		if *one.gone, err = one.sweep(ctx, now.AddDate(0, -one.months, 0)); err != nil {
			return swept, fmt.Errorf("sweep %s: %w", d.Shop, err)
		}
	}
	if swept != (Swept{}) {
		detail := fmt.Sprintf("%d lines, %d closed cases, %d idle owners, %d entries of this log", swept.Lines, swept.Cases, swept.Owners, swept.Acts)
		err = d.tell(ctx, bySweep, "swept", "", detail)
	}
	return swept, err
}

// pause leaves the store to the turns for a moment.
func (d *Desk) pause(ctx context.Context) error {
	for until := d.Clock.Now().Add(rest); d.Clock.Now().Before(until); {
		if err := d.Clock.Wait(ctx, until, nil); err != nil {
			return err
		}
	}
	return ctx.Err()
}

func (d *Desk) sweepTranscripts(ctx context.Context, before time.Time) (gone int, err error) {
	for after := ""; ; {
		n, next, err := d.Store.TrimTranscripts(ctx, d.Shop, before, after, step)
		gone += n
		if err != nil || next == "" {
			return gone, err
		}
		after = next
		if err := d.pause(ctx); err != nil {
			return gone, err
		}
	}
}

func (d *Desk) sweepCases(ctx context.Context, before time.Time) (gone int, err error) {
	for {
		n, err := d.Store.TrimHandovers(ctx, d.Shop, before, step)
		gone += n
		if err != nil || n < step {
			return gone, err
		}
		if err := d.pause(ctx); err != nil {
			return gone, err
		}
	}
}

// sweepIdle erases those in whose conversation nothing has happened. Whoever is passed
// over stays at the front of the list, and is skipped.
func (d *Desk) sweepIdle(ctx context.Context, before time.Time) (gone int, err error) {
	for skip := 0; ; {
		list, err := d.Store.Listed(ctx, d.Shop, skip, step)
		if err != nil {
			return gone, err
		}
		for _, l := range list {
			if !l.Changed.Before(before) {
				return gone, nil
			}
			erased, err := d.eraseIdle(ctx, l.ID, before)
			if err != nil {
				return gone, err
			}
			if erased {
				gone++
			} else {
				skip++
			}
		}
		if len(list) < step {
			return gone, nil
		}
		if err := d.pause(ctx); err != nil {
			return gone, err
		}
	}
}

// eraseIdle erases a conversation, unless it has work in it or has changed meanwhile.
func (d *Desk) eraseIdle(ctx context.Context, id string, before time.Time) (bool, error) {
	c, err := d.Store.View(ctx, d.Shop).Conversation(id)
	if errors.Is(err, store.ErrNotFound) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	if c.Busy() || len(c.Consent.Seasonal) > 0 || !c.LastIn.Before(before) {
		return false, nil
	}
	_, err = d.erase(ctx, &c, bySweep)
	if errors.Is(err, store.ErrConflict) || errors.Is(err, store.ErrNotFound) {
		return false, nil
	}
	return err == nil, err
}

// sweepHour is the hour of the day, in the shop's time zone, at which its sweep is done.
// Our decision: nobody is at a tub then.
const sweepHour = 3

// Daily calls do once a day at a quiet hour of the place, until ctx ends.
func Daily(ctx context.Context, c clock.Clock, place *time.Location, do func(ctx context.Context)) {
	for {
		local := c.Now().In(place)
		at := time.Date(local.Year(), local.Month(), local.Day(), sweepHour, 0, 0, 0, place)
		if !at.After(local) {
			at = time.Date(local.Year(), local.Month(), local.Day()+1, sweepHour, 0, 0, 0, place)
		}
		for c.Now().Before(at) {
			if err := c.Wait(ctx, at, nil); err != nil {
				return
			}
		}
		do(ctx)
		if ctx.Err() != nil {
			return
		}
	}
}
