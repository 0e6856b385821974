package phone

import (
	"strings"
	"sync"
)

// Book is Parse with a bounded memory: who is in a conversation writes from the same
// number again and again, and reading one takes some 50 microseconds. It keeps between n
// and 2n numbers: when the younger half is full it becomes the older one, and what was
// there is forgotten. What is no number is not kept. It is safe for concurrent use.
type Book struct {
	n          int
	mu         sync.RWMutex
	young, old map[entry]Number
}

// entry is a number as it was written, and where.
type entry struct{ written, region string }

// NewBook makes a Book that keeps at least n numbers.
func NewBook(n int) *Book { return &Book{n: n, young: map[entry]Number{}} }

// Parse gives what the function Parse gives. The Zones are shared: leave them as they are.
func (b *Book) Parse(written, region string) (Number, error) {
	if n, ok := b.find(entry{written, region}); ok {
		return n, nil
	}
	n, err := Parse(written, region)
	if err == nil {
		// A copy of its own: what was written may be a piece of a long text.
		b.keep(entry{strings.Clone(written), region}, n)
	}
	return n, err
}

func (b *Book) find(e entry) (Number, bool) {
	b.mu.RLock()
	defer b.mu.RUnlock()
	if n, ok := b.young[e]; ok {
		return n, true
	}
	n, ok := b.old[e]
	return n, ok
}

func (b *Book) keep(e entry, n Number) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if len(b.young) >= b.n {
		b.young, b.old = map[entry]Number{}, b.young
	}
	b.young[e] = n
}
