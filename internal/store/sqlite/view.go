package sqlite

import (
	"context"
	"database/sql/driver"
	"slices"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
)

// view is one shop. Each method is one statement, and so sees one moment.
type view struct {
	s    *Store
	ctx  context.Context
	shop string
}

// View implements store.Store.
func (s *Store) View(ctx context.Context, shop string) store.View {
	return view{s: s, ctx: ctx, shop: shop}
}

// list runs a query and makes a record of each row.
func list[T any](v view, each func(row []driver.Value) (T, error), query string, args ...driver.Value) (out []T, err error) {
	err = v.s.read(v.ctx, func(r *reader) error {
		return r.rows(func(row []driver.Value) error {
			one, err := each(row)
			out = append(out, one)
			return err
		}, query, args...)
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

// Board implements store.View.
func (v view) Board(limit int) ([]store.Card, error) {
	return list(v, card, `SELECT c.state, c.version, c.changed,
			(SELECT min(due) FROM reminder WHERE conversation = c.num), l.body, l.delivery
		FROM conversation c LEFT JOIN line l ON l.num = (SELECT num FROM line
			WHERE num >= c.num << 24 AND num < (c.num + 1) << 24 AND note = 0 ORDER BY num DESC LIMIT 1)
		WHERE c.shop = (SELECT num FROM shop WHERE key = ?) ORDER BY c.touched DESC LIMIT ?`,
		v.shop, int64(record.Limit(limit, 500)))
}

func card(row []driver.Value) (c store.Card, err error) {
	if c.State, err = record.State(text(row[0]), integer(row[1])); err != nil {
		return c, err
	}
	c.Changed = record.Time(integer(row[2]))
	if due, ok := row[3].(int64); ok {
		c.NextDue = record.Time(due)
	}
	if body, ok := row[4].(string); ok {
		c.Last, err = line(body, text(row[5]))
	}
	return c, err
}

// Conversation implements store.View.
func (v view) Conversation(id string) (conversation.Conversation, error) {
	return v.s.state(v.ctx, `SELECT state, version FROM conversation
		WHERE shop = (SELECT num FROM shop WHERE key = ?) AND id = ?`, v.shop, id)
}

// numbers restricts a query to what is numbered within one conversation.
const numbers = `num >= (SELECT num << 24 FROM conversation WHERE shop = (SELECT num FROM shop WHERE key = ?1) AND id = ?2)
	AND num < (SELECT (num + 1) << 24 FROM conversation WHERE shop = (SELECT num FROM shop WHERE key = ?1) AND id = ?2)`

// Transcript implements store.View.
func (v view) Transcript(id string, limit int) ([]conversation.Line, error) {
	lines, err := list(v, func(row []driver.Value) (conversation.Line, error) {
		return line(text(row[0]), text(row[1]))
	}, "SELECT body, delivery FROM line WHERE "+numbers+" ORDER BY num DESC LIMIT ?3", v.shop, id, int64(max(limit, 0)))
	slices.Reverse(lines)
	return lines, err
}

// Log implements store.View.
func (v view) Log(id string, limit int) ([]conversation.LogEntry, error) {
	entries, err := list(v, body[conversation.LogEntry],
		"SELECT body FROM log WHERE "+numbers+" ORDER BY num DESC LIMIT ?3", v.shop, id, int64(max(limit, 0)))
	slices.Reverse(entries)
	return entries, err
}

func body[T any](row []driver.Value) (T, error) { return record.Decode[T](text(row[0])) }

// Handovers implements store.View.
func (v view) Handovers(closed bool, limit int) ([]conversation.Handover, error) {
	query := "closed IS NULL ORDER BY rank, opened, id LIMIT ?"
	if closed {
		query = "closed IS NOT NULL ORDER BY closed DESC, id LIMIT ?"
	}
	return list(v, body[conversation.Handover],
		"SELECT body FROM handover WHERE shop = (SELECT num FROM shop WHERE key = ?) AND "+query, v.shop, int64(max(limit, 0)))
}

// Reminders implements store.View.
func (v view) Reminders(id string) ([]conversation.Reminder, error) {
	return list(v, func(row []driver.Value) (conversation.Reminder, error) {
		r, err := body[conversation.Reminder](row)
		r.Due = record.Time(integer(row[1]))
		return r, err
	}, `SELECT body, due FROM reminder WHERE conversation =
		(SELECT num FROM conversation WHERE shop = (SELECT num FROM shop WHERE key = ?) AND id = ?) ORDER BY due, id`, v.shop, id)
}

// Counts implements store.View.
func (v view) Counts() (store.Counts, error) {
	counts, err := list(v, func(row []driver.Value) (store.Counts, error) {
		return store.Counts{
			Conversations: integer(row[0]), Turns: integer(row[1]), Outbox: integer(row[2]),
			Reminders: integer(row[3]), Handovers: integer(row[4]),
		}, nil
	}, "SELECT conversations, turns, outbox, reminders, handovers FROM shop WHERE key = ?", v.shop)
	if err != nil || len(counts) == 0 {
		return store.Counts{}, err
	}
	return counts[0], nil
}

// Watch implements store.Store.
func (s *Store) Watch(ctx context.Context, shop string) <-chan store.Change {
	return s.hub.Watch(ctx, shop)
}
