package clock

import (
	"context"
	"sync"
	"time"
)

// Jumping is a clock that can be moved forward; whoever waits on it wakes at once and
// looks again. It never goes back.
type Jumping struct {
	mu      sync.Mutex
	base    time.Time // what the clock showed at since
	since   time.Time // on the machine's clock
	still   bool
	changed chan struct{} // closed at the next jump
}

// NewJumping starts a clock at start that runs with real time and can be jumped.
func NewJumping(start time.Time) *Jumping {
	return &Jumping{base: start, since: time.Now(), changed: make(chan struct{})}
}

// NewStill starts a clock at start that moves only when it is jumped.
func NewStill(start time.Time) *Jumping {
	return &Jumping{base: start, still: true, changed: make(chan struct{})}
}

// Now implements Clock.
func (j *Jumping) Now() time.Time {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.now()
}

func (j *Jumping) now() time.Time {
	if j.still {
		return j.base
	}
	return j.base.Add(time.Since(j.since))
}

// Jump moves the clock forward by d; nothing happens when d is not positive.
func (j *Jumping) Jump(d time.Duration) {
	j.mu.Lock()
	defer j.mu.Unlock()
	if d > 0 {
		j.base = j.base.Add(d)
		close(j.changed)
		j.changed = make(chan struct{})
	}
}

// JumpTo moves the clock forward to at; nothing happens when that time has passed.
func (j *Jumping) JumpTo(at time.Time) {
	j.mu.Lock()
	defer j.mu.Unlock()
	if d := at.Sub(j.now()); d > 0 {
		j.base = j.base.Add(d)
		close(j.changed)
		j.changed = make(chan struct{})
	}
}

// Wait implements Clock. On a still clock it ends only by a jump, a wake-up or ctx.
func (j *Jumping) Wait(ctx context.Context, at time.Time, wake <-chan struct{}) error {
	j.mu.Lock()
	now, changed := j.now(), j.changed
	j.mu.Unlock()
	if j.still && at.After(now) {
		at = time.Time{}
	}
	return wait(ctx, now, at, wake, changed)
}
