package smpp

import (
	"context"
	"sync"
	"time"
)

// state holds the session that is bound, for whoever waits for one.
type state struct {
	mu      sync.Mutex
	bound   *session
	since   time.Time     // when it was bound
	changed chan struct{} // closed at the next change
}

func newState() *state { return &state{changed: make(chan struct{})} }

func (s *state) set(now *session, at time.Time) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.bound, s.since = now, at
	close(s.changed)
	s.changed = make(chan struct{})
}

// boundAt is since when there is a bound session; ok false when there is none.
func (s *state) boundAt() (since time.Time, ok bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.since, s.bound != nil
}

func (s *state) current() *session {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.bound
}

// wait gives the bound session, nil when ctx ends before there is one.
func (s *state) wait(ctx context.Context) *session {
	for {
		s.mu.Lock()
		bound, changed := s.bound, s.changed
		s.mu.Unlock()
		if bound != nil {
			return bound
		}
		select {
		case <-ctx.Done():
			return nil
		case <-changed:
		}
	}
}
