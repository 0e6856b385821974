package redis

import (
	"context"
	"sync"
	"time"

	goredis "github.com/redis/go-redis/v9"

	"tubhand/internal/store"
)

// ears listen to the channels of shops that are watched, one connection a shop. What is
// heard goes through the hub; this process's own turns come back this way as well.
type ears struct {
	mu     sync.Mutex
	closed bool
	byShop map[string]*ear
	done   sync.WaitGroup
}

type ear struct {
	watchers int
	pubsub   *goredis.PubSub
}

// Watch implements store.Store. It returns once the server has confirmed that it tells
// of changes, or when that takes too long; then the watcher is told to read everything
// when it is confirmed.
func (s *Store) Watch(ctx context.Context, shop string) <-chan store.Change {
	ch := s.hub.Watch(ctx, shop)
	if ctx.Err() != nil {
		return ch
	}
	ready := s.ears.listen(s, shop)
	context.AfterFunc(ctx, func() { s.ears.leave(shop) })
	select {
	case <-ready:
	case <-ctx.Done():
	case <-time.After(readTimeout):
	}
	return ch
}

// listen counts a watcher in. The channel is closed when changes are told.
func (e *ears) listen(s *Store, shop string) <-chan struct{} {
	ready := make(chan struct{})
	e.mu.Lock()
	defer e.mu.Unlock()
	one := e.byShop[shop]
	switch {
	case e.closed:
		close(ready)
		return ready
	case one != nil:
		one.watchers++
		close(ready)
		return ready
	}
	channel := s.shopKeys(shop).channel
	one = &ear{watchers: 1}
	if s.publish == "SPUBLISH" {
		one.pubsub = s.link.client.SSubscribe(context.Background(), channel)
	} else {
		one.pubsub = s.link.client.Subscribe(context.Background(), channel)
	}
	if e.byShop == nil {
		e.byShop = make(map[string]*ear)
	}
	e.byShop[shop] = one
	e.done.Go(func() { s.hear(one.pubsub, shop, ready) })
	return ready
}

// hear passes changes on until the ear is closed. After a broken connection, in which
// changes may have been missed, everybody reads everything again.
func (s *Store) hear(pubsub *goredis.PubSub, shop string, ready chan struct{}) {
	confirmed, broken := false, false
	defer func() {
		if !confirmed {
			close(ready)
		}
	}()
	for {
		got, err := pubsub.Receive(context.Background())
		switch m := got.(type) {
		case *goredis.Subscription:
			if broken {
				s.hub.Tell(store.Change{Shop: shop})
			}
			if !confirmed {
				confirmed = true
				close(ready)
			}
			broken = false
		case *goredis.Message:
			s.hub.Tell(store.Change{Shop: shop, Conversation: m.Payload})
		}
		if err == nil {
			continue
		}
		broken = true
		select {
		case <-s.closing:
			return
		case <-time.After(100 * time.Millisecond):
			if s.ears.gone(shop, pubsub) {
				return
			}
		}
	}
}

// gone tells whether nobody listens through this connection any more.
func (e *ears) gone(shop string, pubsub *goredis.PubSub) bool {
	e.mu.Lock()
	defer e.mu.Unlock()
	one := e.byShop[shop]
	return one == nil || one.pubsub != pubsub
}

// leave counts a watcher out.
func (e *ears) leave(shop string) {
	e.mu.Lock()
	defer e.mu.Unlock()
	one := e.byShop[shop]
	if one == nil {
		return
	}
	if one.watchers--; one.watchers == 0 {
		delete(e.byShop, shop)
		_ = one.pubsub.Close()
	}
}

// close ends all listening.
func (e *ears) close() {
	e.mu.Lock()
	e.closed = true
	for _, one := range e.byShop {
		_ = one.pubsub.Close()
	}
	e.byShop = nil
	e.mu.Unlock()
	e.done.Wait()
}
