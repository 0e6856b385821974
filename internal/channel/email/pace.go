package email

import (
	"sync"
	"time"
)

// How fast one author may write: more than anybody at a tub does, little enough that two
// machines that answer each other come to rest. RFC 3834, 2 asks for a limit and leaves
// it open; these are our decisions.
const (
	burst   = 20
	refill  = 3 * time.Minute
	tracked = 20_000 // keys remembered at a time
)

// pace slows down single keys: authors, or addresses that connect. For each it keeps the
// time at which its bucket will be full again.
type pace struct {
	mu     sync.Mutex
	full   map[string]time.Time
	burst  int
	refill time.Duration
}

func newPace(burst int, refill time.Duration) *pace {
	return &pace{full: map[string]time.Time{}, burst: burst, refill: refill}
}

// wait takes a place in the bucket of a key, or tells how long until there is room.
func (p *pace) wait(key string, now time.Time) time.Duration {
	p.mu.Lock()
	defer p.mu.Unlock()
	full := p.full[key]
	if full.Before(now) || full.After(now.Add(time.Duration(p.burst+1)*p.refill)) { // the latter: the clock was set back
		full = now
	}
	if over := full.Add(p.refill).Sub(now) - time.Duration(p.burst)*p.refill; over > 0 {
		return over
	}
	if _, known := p.full[key]; !known && len(p.full) >= tracked {
		p.forget(now)
	}
	p.full[key] = full.Add(p.refill)
	return 0
}

// forget drops the keys whose buckets are full; where a flood comes from ever new ones,
// all get a fresh bucket.
func (p *pace) forget(now time.Time) {
	for key, full := range p.full {
		if !full.After(now) {
			delete(p.full, key)
		}
	}
	if len(p.full) >= tracked {
		clear(p.full)
	}
}
