package sqlite

import "sync"

// recent is a bounded memory of what was put last. It holds between n and 2n entries:
// when the younger half is full it becomes the older one, and what was there is
// forgotten. It is not safe for concurrent use.
type recent[K comparable, V any] struct {
	n          int
	young, old map[K]V
}

func (r *recent[K, V]) get(k K) (V, bool) {
	if v, ok := r.young[k]; ok {
		return v, true
	}
	v, ok := r.old[k]
	return v, ok
}

func (r *recent[K, V]) put(k K, v V) {
	if r.young == nil || len(r.young) >= r.n {
		r.old = r.young
		r.young = make(map[K]V, r.n)
	}
	r.young[k] = v
}

// states are the conversations written last, by shop and address. Only the writer puts
// them in, after the commit and before it is acknowledged; so what is found here is
// what a query would find, and a conversation in full swing is read from memory.
type states struct {
	mu sync.RWMutex
	recent[stateKey, keptState]
}

type stateKey struct{ shop, address string }

type keptState struct {
	key     stateKey
	state   string
	version int64
}

func (s *states) find(shop, address string) (keptState, bool) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	return s.get(stateKey{shop, address})
}

func (s *states) keep(list []keptState) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, k := range list {
		s.put(k.key, k)
	}
}
