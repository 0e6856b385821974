package sqlite

import (
	"sync"
	"sync/atomic"

	"tubhand/internal/conversation"
)

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

// states are the conversations written last, as they were given to be written: to
// read one from its written form takes as long as to put it into the file. Only the writer puts
// them in, after the commit and before it is acknowledged; so what is found here is what a
// query would find, and a conversation in full swing is read from memory.
type states struct {
	mu    sync.RWMutex
	byID  recent[stateKey, conversation.Conversation]
	leads recent[stateKey, string] // from an address to the id
}

// stateKey is a conversation's id or an address, of a shop.
type stateKey struct{ shop, name string }

type keptState struct {
	key   stateKey
	state conversation.Conversation
}

func newStates() *states {
	return &states{byID: recent[stateKey, conversation.Conversation]{n: remembered}, leads: recent[stateKey, string]{n: remembered}}
}

func (s *states) find(shop, address string) (conversation.Conversation, bool) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	id, ok := s.leads.get(stateKey{shop, address})
	if !ok {
		return conversation.Conversation{}, false
	}
	c, ok := s.byID.get(stateKey{shop, id})
	return c, ok && c.Version > 0 // one that was erased has none
}

func (s *states) keep(list []keptState) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, k := range list {
		s.byID.put(k.key, k.state)
		for _, a := range k.state.Owner.Addresses {
			s.leads.put(stateKey{k.key.shop, a}, k.key.name)
		}
	}
}

// hints are rows that readers met, for the turns that are being decided on them: they
// save the writer a search. A row may have been written since it was read. Then it is
// among the rows that the writer keeps in mind, and those go first; a hint so old that
// they may have forgotten is not used. So each hint has the count of rows put there
// from just before it was read.
type hints struct {
	mu   sync.Mutex
	rows map[rowKey]hint
	puts atomic.Int64
}

type hint struct {
	row  row
	puts int64
}

func (h *hints) give(key rowKey, r row, puts int64) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.rows == nil || len(h.rows) >= remembered {
		h.rows = make(map[rowKey]hint)
	}
	h.rows[key] = hint{r, puts}
}

func (h *hints) take(key rowKey) (row, bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	found, ok := h.rows[key]
	delete(h.rows, key)
	return found.row, ok && h.puts.Load()-found.puts < remembered
}

// shopNumbers are the numbers of all shops, for readers. A shop is here before its
// first turn is acknowledged.
type shopNumbers struct{ sync.Map }

func (n *shopNumbers) of(shop string) (int64, bool) {
	v, ok := n.Load(shop)
	num, _ := v.(int64)
	return num, ok
}
