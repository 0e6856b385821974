package redis

import (
	"math"
	"sync"
)

// A place that is later than every time, and one that is earlier.
const (
	never   = math.MaxInt64
	unknown = math.MinInt64
)

// horizon knows for each partition before which place there is no work for sure, so that
// only those are asked that may have some. This process's own writes move it at once;
// what other processes write is seen when all is forgotten, twice a second.
type horizon struct {
	mu     sync.Mutex
	bounds []bound
}

// bound says that nothing is before at; exact that something is there, or that it is
// never. Changed counts, so that an answer from before a change is not taken.
type bound struct {
	at      int64
	exact   bool
	changed int
}

func newHorizon(partitions int) *horizon {
	h := &horizon{bounds: make([]bound, partitions)}
	h.forget()
	return h
}

func (h *horizon) forget() {
	h.mu.Lock()
	defer h.mu.Unlock()
	for i := range h.bounds {
		h.bounds[i] = bound{at: unknown, changed: h.bounds[i].changed + 1}
	}
}

// lower notes a write after which there may be work at this place: with never, one that
// only took work away.
func (h *horizon) lower(p partition, at int64) {
	h.mu.Lock()
	defer h.mu.Unlock()
	b := &h.bounds[p]
	*b = bound{at: min(b.at, at), changed: b.changed + 1}
}

// question is a partition that is about to be asked.
type question struct {
	part    partition
	changed int
}

// before lists the partitions that may have work up to a place.
func (h *horizon) before(place int64) (out []question) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for p, b := range h.bounds {
		if b.at <= place {
			out = append(out, question{partition(p), b.changed})
		}
	}
	return out
}

// survey gives the first place of those partitions where it is known, and the others.
func (h *horizon) survey() (first int64, doubtful []question) {
	h.mu.Lock()
	defer h.mu.Unlock()
	first = never
	for p, b := range h.bounds {
		if b.exact {
			first = min(first, b.at)
		} else {
			doubtful = append(doubtful, question{partition(p), b.changed})
		}
	}
	return first, doubtful
}

// answer notes where the first work of a partition is, unless it has changed since.
func (h *horizon) answer(q question, at int64) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if b := &h.bounds[q.part]; b.changed == q.changed {
		b.at, b.exact = at, true
	}
}
