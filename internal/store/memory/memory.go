// Package memory is a store in the process's memory, for rehearsals and tests. It keeps
// the whole contract of package store but one word: nothing survives the process.
// States are kept in their written form, so that no caller shares memory with the store
// and a record reads here just as it would from a disk.
package memory

import (
	"context"
	"sync"
	"time"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/internal/feed"
	"tubhand/internal/store/internal/record"
)

// Store is the store. New makes one.
type Store struct {
	mu      sync.RWMutex
	shops   map[string]*shop
	shelves map[string]*shelf // by shop
	outbox  agenda[*message]  // the head of each queue
	due     agenda[*reminder] // every pending reminder
	hub     feed.Hub
	closed  bool
}

var _ store.Store = (*Store)(nil)

// shop is what is kept of one shop.
type shop struct {
	conversations map[string]*tubside
	addresses     map[string]*tubside
	lines         map[string]*line // those that are sent
	handovers     map[string]conversation.Handover
	marks         map[string]int64 // when each was set
	aging         []mark           // the marks, oldest first
	counts        store.Counts
	touches       int64
	begun         int64 // counts the conversations that ever were
	tallies       map[tallied]amount
}

type mark struct {
	event string
	at    int64
}

// tubside is one conversation with all that belongs to it.
type tubside struct {
	shop, id  string
	version   int64
	state     string // as written by record.Encode
	begun     int64  // its number among the shop's conversations
	sought    string // what it is found by
	touched   int64  // counts the shop's commits
	changed   time.Time
	lines     []*line
	log       []conversation.LogEntry
	queue     []*entry[*message] // what is to be sent, oldest first; each recipient's first is on the agenda
	reminders map[string]*entry[*reminder]
}

type line struct {
	conversation.Line
	at *tubside
}

type message struct {
	line    *line
	attempt int
	place   int64 // fresh, until the first attempt
}

type reminder struct {
	conversation.Reminder
	at *tubside
}

// New returns an empty store.
func New() *Store { return &Store{shops: make(map[string]*shop)} }

// Load implements store.Store.
func (s *Store) Load(ctx context.Context, shopKey, address string) (conversation.Conversation, error) {
	if err := ctx.Err(); err != nil {
		return conversation.Conversation{}, err
	}
	state, version, err := s.written(shopKey, address)
	if err != nil {
		return conversation.Conversation{}, err
	}
	return record.State(state, version)
}

func (s *Store) written(shopKey, address string) (string, int64, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if s.closed {
		return "", 0, store.ErrClosed
	}
	if sh := s.shops[shopKey]; sh != nil {
		if c := sh.addresses[address]; c != nil {
			return c.state, c.version, nil
		}
	}
	return "", 0, store.ErrNotFound
}

// change runs one change under the lock, and tells the watchers of what it changed.
func (s *Store) change(ctx context.Context, do func() ([]store.Change, error)) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.closed {
		return store.ErrClosed
	}
	changes, err := do()
	s.hub.Tell(changes...)
	return err
}

// NextDue implements store.Store.
func (s *Store) NextDue(ctx context.Context) (time.Time, bool, error) {
	if err := ctx.Err(); err != nil {
		return time.Time{}, false, err
	}
	s.mu.RLock()
	defer s.mu.RUnlock()
	if s.closed {
		return time.Time{}, false, store.ErrClosed
	}
	next, ok := int64(0), false
	if e := s.due.first(); e != nil {
		next, ok = e.place, true
	}
	if e := s.outbox.first(); e != nil && (!ok || record.Ready(e.place) < next) {
		next, ok = record.Ready(e.place), true
	}
	if !ok {
		return time.Time{}, false, nil
	}
	return record.Time(next), true, nil
}

// Watch implements store.Store.
func (s *Store) Watch(ctx context.Context, shopKey string) <-chan store.Change {
	return s.hub.Watch(ctx, shopKey)
}

// Close implements store.Store.
func (s *Store) Close() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.closed = true
	s.hub.Close()
	return nil
}
