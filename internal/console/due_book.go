package console

import (
	"context"
	"errors"
	"sync"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

// dueBook knows when the chores of all of the shop's tubs come round. It is read whole when
// somebody first asks, and follows what changes from then on, also on other servers: reckoning
// it anew for each page would read every conversation. Some 100 bytes a tub.
type dueBook struct {
	mu      sync.Mutex
	reading chan struct{} // closed when all has been read; nil: nobody has asked, or reading failed
	tubs    map[string]dueTub
}

type dueTub struct {
	name, number string
	optedOut     bool
	chores       []conversation.DueChore
}

// open begins to read where that has not been done, and gives what tells when all is there.
func (b *dueBook) open(c *Console) <-chan struct{} {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.reading == nil {
		b.reading, b.tubs = make(chan struct{}), map[string]dueTub{}
		go b.follow(c, b.reading)
	}
	return b.reading
}

// follow reads everything and then what changes, until the console closes or the store can't
// be read; then the next who asks begins anew.
func (b *dueBook) follow(c *Console, ready chan struct{}) {
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	changes := c.Store.Watch(ctx, c.Shop.Key) // before reading, so that nothing falls between
	err := b.fill(ctx, c)
	if err == nil {
		close(ready)
	}
	for err == nil {
		select {
		case <-c.closed:
			err = context.Canceled
		case change, ok := <-changes:
			switch {
			case !ok:
				err = store.ErrClosed
			case change.Conversation == "":
				err = b.fill(ctx, c)
			default:
				err = b.again(ctx, c, change.Conversation)
			}
		}
	}
	if !errors.Is(err, context.Canceled) && !errors.Is(err, store.ErrClosed) {
		c.Log.Error("console", "doing", "read what is due", "error", err)
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.reading == ready {
		b.reading = nil
	}
}

func (b *dueBook) fill(ctx context.Context, c *Console) error {
	view, after, there := c.Store.View(ctx, c.Shop.Key), "", map[string]bool{}
	for {
		select {
		case <-c.closed:
			return context.Canceled
		default:
		}
		cards, next, err := view.Find("", 500, after)
		if err != nil {
			return err
		}
		for i := range cards {
			there[cards[i].State.ID] = true
			b.put(&cards[i].State)
		}
		if after = next; next == "" {
			break
		}
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	for id := range b.tubs {
		if !there[id] {
			delete(b.tubs, id)
		}
	}
	return nil
}

func (b *dueBook) put(c *conversation.Conversation) {
	t := dueTub{name: nameOf(c), number: numberWords(c.ID), optedOut: c.OptedOut, chores: conversation.DueChores(c)}
	b.mu.Lock()
	defer b.mu.Unlock()
	b.tubs[c.ID] = t
}

// again reads one conversation that has changed.
func (b *dueBook) again(ctx context.Context, c *Console, id string) error {
	conv, err := c.Store.View(ctx, c.Shop.Key).Conversation(id)
	if errors.Is(err, store.ErrNotFound) {
		b.mu.Lock()
		defer b.mu.Unlock()
		delete(b.tubs, id)
		return nil
	}
	if err == nil {
		b.put(&conv)
	}
	return err
}
