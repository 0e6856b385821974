package sqlite

import (
	"context"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
)

// reader is a connection that only reads. Each statement, or each transaction, sees
// every commit that was acknowledged before it began.
type reader struct{ *conn }

// read runs do with a reader of its own.
func (s *Store) read(ctx context.Context, do func(r *reader) error) error {
	if err := s.open(ctx); err != nil {
		return err
	}
	select {
	case <-s.closing:
		return store.ErrClosed
	case <-ctx.Done():
		return ctx.Err()
	case r := <-s.readers:
		defer func() { s.readers <- r }()
		return do(r)
	}
}

// open says why nothing can be read, if so.
func (s *Store) open(ctx context.Context) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	select {
	case <-s.closing:
		return store.ErrClosed
	default:
		return nil
	}
}

// Load implements store.Store.
func (s *Store) Load(ctx context.Context, shop, address string) (conversation.Conversation, error) {
	if err := s.open(ctx); err != nil {
		return conversation.Conversation{}, err
	}
	if c, ok := s.shared.states.find(shop, address); ok {
		return c.Clone(), nil
	}
	return s.loadFrom(ctx, shop, byAddress, address)
}

// loadFrom reads a conversation from the file, and leaves the writer a hint.
func (s *Store) loadFrom(ctx context.Context, shop, from, by string) (conversation.Conversation, error) {
	num, ok := s.shared.shops.of(shop)
	if !ok {
		return conversation.Conversation{}, store.ErrNotFound
	}
	puts := s.shared.hints.puts.Load()
	a := &ask{from: from, shop: num, by: by, done: make(chan struct{})}
	if err := s.ask(ctx, a); err != nil {
		return conversation.Conversation{}, err
	}
	if a.row.num == 0 {
		return conversation.Conversation{}, store.ErrNotFound
	}
	s.shared.hints.give(rowKey{num, a.id}, a.row, puts)
	return record.State(a.state, a.row.version)
}
