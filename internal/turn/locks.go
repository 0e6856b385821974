package turn

import (
	"context"
	"sync"
)

// locks are locks by name. A lock that nobody holds or waits for takes no room.
type locks struct {
	mu   sync.Mutex
	held map[string]*lock
}

type lock struct {
	free  chan struct{} // holds one token
	users int           // holding or waiting
}

// acquire waits for the lock of this name until ctx ends. The returned func gives it back.
func (l *locks) acquire(ctx context.Context, name string) (release func(), err error) {
	l.mu.Lock()
	k, ok := l.held[name]
	if !ok {
		k = &lock{free: make(chan struct{}, 1)}
		k.free <- struct{}{}
		l.held[name] = k
	}
	k.users++
	l.mu.Unlock()
	select {
	case <-k.free:
		return func() { k.free <- struct{}{}; l.leave(name, k) }, nil
	case <-ctx.Done():
		l.leave(name, k)
		return nil, ctx.Err()
	}
}

func (l *locks) leave(name string, k *lock) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if k.users--; k.users == 0 {
		delete(l.held, name)
	}
}
