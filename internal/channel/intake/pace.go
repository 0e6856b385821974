package intake

import (
	"sync"
	"time"
)

// Pace slows down single senders: numbers, authors, hosts. Each may come in a burst, and
// then once in each refill. For each it keeps the time at which its bucket will be full
// again, which says all about a bucket. It is safe for concurrent use.
type Pace struct {
	mu     sync.Mutex
	full   map[string]time.Time
	burst  time.Duration // how long an empty bucket takes to be full
	refill time.Duration
	most   int // senders remembered at a time
}

// NewPace makes a pace of full buckets: burst at once, then one in each refill; most is how
// many senders are remembered at a time.
func NewPace(burst int, refill time.Duration, most int) *Pace {
	return &Pace{full: map[string]time.Time{}, burst: time.Duration(burst) * refill, refill: refill, most: most}
}

// Wait takes a place in the bucket of a sender, or tells how long until there is room. What
// was noted by a clock that has been set back since is forgotten.
func (p *Pace) Wait(sender string, now time.Time) time.Duration {
	p.mu.Lock()
	defer p.mu.Unlock()
	full := p.full[sender]
	if full.Before(now) || full.After(now.Add(p.burst+p.refill)) {
		full = now
	}
	if over := full.Add(p.refill).Sub(now) - p.burst; over > 0 {
		return over
	}
	if _, known := p.full[sender]; !known && len(p.full) >= p.most {
		p.forget(now)
	}
	p.full[sender] = full.Add(p.refill)
	return 0
}

// forget drops the senders whose buckets are full, which are as good as unknown; when a
// flood comes from ever new ones, none is, and all get a fresh bucket.
func (p *Pace) forget(now time.Time) {
	for sender, full := range p.full {
		if !full.After(now) {
			delete(p.full, sender)
		}
	}
	if len(p.full) >= p.most {
		clear(p.full)
	}
}
