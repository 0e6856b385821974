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
	if k, ok := s.states.find(shop, address); ok {
		return record.State(k.state, k.version)
	}
	return s.state(ctx, `SELECT c.state, c.version FROM shop s
		JOIN address a ON a.shop = s.num JOIN conversation c ON c.num = a.conversation
		WHERE s.key = ? AND a.address = ?`, shop, address)
}

// state runs a query for one conversation's state and version.
func (s *Store) state(ctx context.Context, query, shop, key string) (conversation.Conversation, error) {
	state, version := "", int64(0)
	err := s.read(ctx, func(r *reader) error {
		return r.rows(func(row []driver.Value) error {
			state, version = text(row[0]), integer(row[1])
			return nil
		}, query, shop, key)
	})
	if err != nil {
		return conversation.Conversation{}, err
	}
	if version == 0 {
		return conversation.Conversation{}, store.ErrNotFound
	}
	return record.State(state, version)
}
