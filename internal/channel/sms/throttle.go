package sms

import (
	"sync"
	"time"
)

// throttle spaces the messages to one gateway, and holds them back while it asks for that.
// A message that has to wait is given a place, so that a long queue costs each message one
// attempt more and not all of its attempts.
type throttle struct {
	gap time.Duration // between messages; 0: no limit

	mu     sync.Mutex
	free   time.Time            // when the next place is
	held   time.Time            // nothing goes before
	places map[string]time.Time // of messages that wait, by key
	seen   time.Time            // the last time that was seen
}

// waiting bounds the places that are kept.
const waiting = 100_000

// longestHold is the longest that one message's 429 holds the others back.
const longestHold = time.Minute

func newThrottle(perSecond float64) *throttle {
	t := &throttle{places: map[string]time.Time{}}
	if perSecond > 0 {
		t.gap = time.Duration(float64(time.Second) / perSecond)
	}
	return t
}

// turn gives zero when the message may go now, else when its place is.
func (t *throttle) turn(key string, now time.Time) time.Time {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.follow(now)
	if t.held.After(now) {
		return t.held
	}
	if t.gap == 0 {
		return time.Time{}
	}
	if place, ok := t.places[key]; ok {
		if place.After(now) {
			return place
		}
		delete(t.places, key)
		return time.Time{}
	}
	place := now
	if t.free.After(now) {
		place = t.free
	}
	t.free = place.Add(t.gap)
	if !place.After(now) {
		return time.Time{}
	}
	if len(t.places) >= waiting {
		t.forget(now)
	}
	t.places[key] = place
	return place
}

// jitter is how far apart times of calls side by side may be; what goes back further is a
// clock that was set.
const jitter = time.Second

// follow moves all that was noted back with the clock where that is set back: otherwise
// nothing would go out for as long as the jump.
func (t *throttle) follow(now time.Time) {
	back := t.seen.Sub(now)
	t.seen = now
	if back <= jitter {
		return
	}
	t.free, t.held = t.free.Add(-back), t.held.Add(-back)
	for key, place := range t.places {
		t.places[key] = place.Add(-back)
	}
}

// forget drops the places of messages that never came for them.
func (t *throttle) forget(now time.Time) {
	for key, place := range t.places {
		if place.Before(now.Add(-time.Minute)) {
			delete(t.places, key)
		}
	}
	if len(t.places) >= waiting {
		clear(t.places)
	}
}

// hold keeps all messages back until a time, a minute at most.
func (t *throttle) hold(until, now time.Time) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if until = earlier(until, now.Add(longestHold)); until.After(t.held) {
		t.held = until
	}
}
