// Package feed tells watchers within one process what has changed. It never makes the
// teller wait: a watcher that falls behind is told to read everything again.
package feed

import (
	"context"
	"sync"
	"sync/atomic"

	"tubhand/internal/store"
)

// backlog is how many changes a watcher may fall behind.
const backlog = 128

// Hub passes changes on to watchers. The zero value is ready. It is safe for
// concurrent use.
type Hub struct {
	mu       sync.Mutex
	watchers map[string]map[chan store.Change]bool // by shop
	count    atomic.Int64
	closed   bool
}

// Watch returns a channel of a shop's changes; it is closed when ctx ends or the hub is
// closed.
func (h *Hub) Watch(ctx context.Context, shop string) <-chan store.Change {
	ch := make(chan store.Change, backlog)
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.closed || ctx.Err() != nil {
		close(ch)
		return ch
	}
	if h.watchers == nil {
		h.watchers = make(map[string]map[chan store.Change]bool)
	}
	if h.watchers[shop] == nil {
		h.watchers[shop] = make(map[chan store.Change]bool)
	}
	h.watchers[shop][ch] = true
	h.count.Add(1)
	context.AfterFunc(ctx, func() { h.leave(shop, ch) })
	return ch
}

func (h *Hub) leave(shop string, ch chan store.Change) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if !h.watchers[shop][ch] {
		return
	}
	delete(h.watchers[shop], ch)
	if len(h.watchers[shop]) == 0 {
		delete(h.watchers, shop)
	}
	h.count.Add(-1)
	close(ch)
}

// Watched tells whether anybody watches at all, so that tellers can save the effort.
func (h *Hub) Watched() bool { return h.count.Load() > 0 }

// Tell passes changes on without waiting for anybody.
func (h *Hub) Tell(changes ...store.Change) {
	if !h.Watched() {
		return
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	for _, c := range changes {
		for ch := range h.watchers[c.Shop] {
			offer(ch, c)
		}
	}
}

// offer sends a change, or replaces all that the watcher has not read by the order to
// read everything. Only the hub sends, and under its lock, so there is room after.
func offer(ch chan store.Change, c store.Change) {
	select {
	case ch <- c:
		return
	default:
	}
	for {
		select {
		case <-ch:
			continue
		default:
		}
		break
	}
	ch <- store.Change{Shop: c.Shop}
}

// Close ends all watches. It may be called twice.
func (h *Hub) Close() {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.closed = true
	for _, shop := range h.watchers {
		for ch := range shop {
			close(ch)
		}
	}
	h.watchers = nil
	h.count.Store(0)
}
