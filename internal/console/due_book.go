package console

import (
	"context"
	"errors"
	"slices"
	"sync"
	"time"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

// dueBook knows when the chores of all of the shop's tubs come round. It is read whole when
// somebody first asks, and follows what changes from then on, also on other servers: reckoning
// it anew for each page would read every conversation. It takes some 300 bytes a tub.
type dueBook struct {
	mu      sync.Mutex
	reading chan struct{} // closed when all has been read; nil: nobody has asked, or reading failed
	tubs    map[string]*dueTub
	days    map[int64][]dueEntry // by the shop's day, in no order
	count   map[dueCount]int
}

type dueTub struct {
	id, name, number string
	optedOut         bool
	chores           []dueEntry
}

// dueEntry is one chore of a tub.
type dueEntry struct {
	tub    *dueTub
	chore  conversation.Chore
	at     int64 // milliseconds since 1970
	agreed bool  // the owner has agreed on that time
}

// dueCount is what is counted: a chore, or "" for all, of a day.
type dueCount struct {
	day   int64
	chore conversation.Chore
}

// day numbers the shop's days.
func (c *Console) day(t time.Time) int64 {
	local := t.In(c.zone)
	return time.Date(local.Year(), local.Month(), local.Day(), 0, 0, 0, 0, time.UTC).Unix() / (24 * 60 * 60)
}

// open begins to read where that has not been done, and gives what tells when all is there.
func (b *dueBook) open(c *Console) <-chan struct{} {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.reading == nil {
		b.reading, b.tubs, b.days, b.count = make(chan struct{}), map[string]*dueTub{}, map[int64][]dueEntry{}, map[dueCount]int{}
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
			b.put(c, &cards[i].State)
		}
		if after = next; next == "" {
			break
		}
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	for id := range b.tubs {
		if !there[id] {
			b.drop(c, id)
		}
	}
	return nil
}

func (b *dueBook) put(c *Console, conv *conversation.Conversation) {
	t := &dueTub{id: conv.ID, name: nameOf(conv), number: numberWords(conv.ID), optedOut: conv.OptedOut}
	for _, d := range listedChores(conv) {
		t.chores = append(t.chores, dueEntry{t, d.Chore, d.At.UnixMilli(), d.Planned})
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	b.drop(c, conv.ID)
	b.tubs[conv.ID] = t
	for _, e := range t.chores {
		day := c.day(time.UnixMilli(e.at))
		b.days[day] = append(b.days[day], e)
		b.add(day, e.chore, 1)
	}
}

// drop forgets a tub. The book is locked.
func (b *dueBook) drop(c *Console, id string) {
	t := b.tubs[id]
	if t == nil {
		return
	}
	delete(b.tubs, id)
	for _, e := range t.chores {
		day := c.day(time.UnixMilli(e.at))
		b.days[day] = slices.DeleteFunc(b.days[day], func(other dueEntry) bool { return other.tub == t && other.chore == e.chore })
		b.add(day, e.chore, -1)
	}
}

func (b *dueBook) add(day int64, chore conversation.Chore, n int) {
	b.count[dueCount{day, chore}] += n
	b.count[dueCount{day, ""}] += n
}

// again reads one conversation that has changed.
func (b *dueBook) again(ctx context.Context, c *Console, id string) error {
	conv, err := c.Store.View(ctx, c.Shop.Key).Conversation(id)
	if errors.Is(err, store.ErrNotFound) {
		b.mu.Lock()
		defer b.mu.Unlock()
		b.drop(c, id)
		return nil
	}
	if err == nil {
		b.put(c, &conv)
	}
	return err
}
