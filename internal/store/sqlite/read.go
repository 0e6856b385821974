package sqlite

import (
	"context"
	"database/sql/driver"

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
	return s.loadFrom(ctx, "address a JOIN conversation c ON c.num = a.conversation WHERE a.shop = ? AND a.address = ?", shop, address)
}

// loadFrom reads a conversation from the file, and leaves the writer a hint.
func (s *Store) loadFrom(ctx context.Context, from, shop, name string) (conversation.Conversation, error) {
	num, ok := s.shared.shops.of(shop)
	if !ok {
		return conversation.Conversation{}, store.ErrNotFound
	}
	var state, id string
	var found row
	puts := s.shared.hints.puts.Load()
	err := s.read(ctx, func(r *reader) error {
		return r.rows(func(v []driver.Value) (err error) {
			id, state = text(v[9]), text(v[10])
			found, err = readRow(v)
			return err
		}, "SELECT "+rowColumns+", c.id, c.state FROM "+from, num, name)
	})
	if err != nil {
		return conversation.Conversation{}, err
	}
	if found.num == 0 {
		return conversation.Conversation{}, store.ErrNotFound
	}
	s.shared.hints.give(rowKey{num, id}, found, puts)
	return record.State(state, found.version)
}
