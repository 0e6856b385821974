package sms

import (
	"sync"
	"time"
)

// How fast one number may text: a burst that no hand exceeds, then one text a second.
const (
	burst   = 40
	refill  = time.Second
	tracked = 50_000 // numbers remembered at a time
)

// pace slows down single numbers. For each it keeps the time at which its bucket will
// be full again, which says all about a bucket.
type pace struct {
	mu   sync.Mutex
	full map[string]time.Time
}

func newPace() *pace { return &pace{full: map[string]time.Time{}} }

// wait takes a text's place in the bucket of its number, or tells how long until there
// is room for it.
func (p *pace) wait(number string, now time.Time) time.Duration {
	p.mu.Lock()
	defer p.mu.Unlock()
	full := p.full[number]
	if full.Before(now) || full.After(now.Add(burst*refill+jitter)) { // the latter: the clock was set back
		full = now
	}
	if over := full.Add(refill).Sub(now) - burst*refill; over > 0 {
		return over
	}
	if _, known := p.full[number]; !known && len(p.full) >= tracked {
		p.forget(now)
	}
	p.full[number] = full.Add(refill)
	return 0
}

// forget drops the numbers whose buckets are full, which are as good as unknown; when a
// flood comes from ever new numbers, none is, and all get a fresh bucket.
func (p *pace) forget(now time.Time) {
	for number, full := range p.full {
		if !full.After(now) {
			delete(p.full, number)
		}
	}
	if len(p.full) >= tracked {
		clear(p.full)
	}
}
