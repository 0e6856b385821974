package smpp

import (
	"context"
	"sync"
	"time"

	"tubhand/internal/clock"
)

// slack is how far behind its places a fast gate may be and still catch up: timers wake
// late, by a millisecond and more on a busy machine.
const slack = 20 * time.Millisecond

// gate lets submits through: no more than so many a second, and none while the message
// center has asked for a pause.
type gate struct {
	clock  clock.Clock
	every  time.Duration
	mu     sync.Mutex
	next   time.Time // the next free place
	until  time.Time // of the pause
	pauses int       // in a row
}

func newGate(c clock.Clock, perSecond float64) *gate {
	return &gate{clock: c, every: time.Duration(float64(time.Second) / perSecond)}
}

// pass waits for a place. An error is ctx's.
func (g *gate) pass(ctx context.Context) error {
	for {
		at, free := g.place()
		if free {
			return ctx.Err()
		}
		if err := g.clock.Wait(ctx, at, nil); err != nil {
			return err
		}
	}
}

// now is the time. Where the clock was set back, what was noted by the old one is
// brought to where it can be at most, or nothing would pass for as long as the jump.
func (g *gate) now() time.Time {
	now := g.clock.Now()
	if most := now.Add(g.every); g.next.After(most) {
		g.next = most
	}
	if most := now.Add(longestPause); g.until.After(most) {
		g.until = most
	}
	return now
}

// place takes the place that is free now, or tells when to ask again.
func (g *gate) place() (at time.Time, free bool) {
	g.mu.Lock()
	defer g.mu.Unlock()
	now := g.now()
	at = g.next
	if g.until.After(at) {
		at = g.until
	}
	if at.After(now) {
		return at, false
	}
	if late := now.Add(-slack); g.every > slack || g.next.Before(late) {
		g.next = now
	}
	g.next = g.next.Add(g.every)
	return now, true
}

// throttled begins a pause, or keeps to the one that runs: what was under way when it
// began says nothing new. It doubles with each in a row.
func (g *gate) throttled() {
	g.mu.Lock()
	defer g.mu.Unlock()
	now := g.now()
	if now.Before(g.until) {
		return
	}
	pause := longestPause
	if g.pauses < 5 {
		pause = min(firstPause<<g.pauses, longestPause)
	}
	g.pauses++
	g.until = now.Add(pause)
}

// taken ends a row of pauses.
func (g *gate) taken() {
	g.mu.Lock()
	defer g.mu.Unlock()
	if !g.now().Before(g.until) {
		g.pauses = 0
	}
}

// paused is when the pause ends; zero when none runs.
func (g *gate) paused() time.Time {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.now().Before(g.until) {
		return g.until
	}
	return time.Time{}
}
