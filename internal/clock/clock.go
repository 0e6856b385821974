// Package clock is where time comes from. Everything that needs the time or has to
// wait takes a Clock; only this package and cmd read the machine's own. That keeps
// turns repeatable and lets the demo and the tests jump hours ahead.
package clock

import (
	"context"
	"time"
)

// Clock tells the time and waits for it. Implementations are safe for concurrent use.
type Clock interface {
	// Now is the current time.
	Now() time.Time

	// Wait returns nil once Now has reached at or something was received from wake,
	// and the context's error when ctx ends first. With a zero at only wake and ctx
	// end it; a nil wake never does. It may return early: callers look again.
	Wait(ctx context.Context, at time.Time, wake <-chan struct{}) error
}

// System is the machine's clock.
func System() Clock { return system{} }

type system struct{}

// Now implements Clock. The wall clock alone counts: a due time read from a store
// carries no monotonic part, and the two must not disagree after a suspend.
func (system) Now() time.Time { return time.Now().Round(0) }

// Wait implements Clock.
func (s system) Wait(ctx context.Context, at time.Time, wake <-chan struct{}) error {
	return wait(ctx, s.Now(), at, wake, nil)
}

// longest bounds one sleep: a laptop that slept, or a clock that was set, is noticed
// this soon.
const longest = time.Minute

// wait sleeps from now until at, or until a wake-up, a change of the clock, or the end
// of ctx, and at most as long as longest.
func wait(ctx context.Context, now, at time.Time, wake, changed <-chan struct{}) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	var ring <-chan time.Time
	if !at.IsZero() {
		left := at.Sub(now)
		if left <= 0 {
			return nil
		}
		t := time.NewTimer(min(left, longest))
		defer t.Stop()
		ring = t.C
	}
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-ring:
	case <-wake:
	case <-changed:
	}
	return nil
}
