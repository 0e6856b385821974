package sqlite

import (
	"context"
	"database/sql/driver"
	"errors"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
)

// view is one shop. Each method is one statement or one transaction, and so sees one
// moment.
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

// Board implements store.View. It goes back through the shop's commits and takes each
// conversation where it meets it first.
func (v view) Board(limit int) (cards []store.Card, err error) {
	limit = record.Limit(limit, 500)
	met := make(map[int64]bool)
	err = v.s.read(v.ctx, func(r *reader) error {
		return r.walk(func(row []driver.Value) error {
			if num := integer(row[0]); !met[num] {
				met[num] = true
				one, err := card(row[1:])
				if err != nil {
					return err
				}
				cards = append(cards, one)
			}
			if len(cards) == limit || int64(len(cards)) == integer(row[7]) {
				return errEnough
			}
			return nil
		}, `SELECT c.num, c.state, c.version, c.changed, c.reminders, l.body, l.delivery, s.conversations
			FROM shop s JOIN touch t ON t.shop = s.num JOIN conversation c ON c.num = t.conversation
			LEFT JOIN line l ON l.num = c.said
			WHERE s.key = ? ORDER BY t.num DESC`, v.shop)
	})
	if err != nil {
		return nil, err
	}
	return cards, nil
}

func card(row []driver.Value) (c store.Card, err error) {
	if c.State, err = record.State(text(row[0]), integer(row[1])); err != nil {
		return c, err
	}
	c.Changed = record.Time(integer(row[2]))
	list, err := readPending(text(row[3]))
	for i, p := range list {
		if at := record.Time(p.due); i == 0 || at.Before(c.NextDue) {
			c.NextDue = at
		}
	}
	if err != nil {
		return c, err
	}
	if body, ok := row[4].(string); ok {
		c.Last, err = line(body, text(row[5]))
	}
	return c, err
}

// Conversation implements store.View.
func (v view) Conversation(id string) (conversation.Conversation, error) {
	if err := v.s.open(v.ctx); err != nil {
		return conversation.Conversation{}, err
	}
	return v.s.loadFrom(v.ctx, v.shop, byID, id)
}

// chain is a query for the last records of a conversation, oldest first: it follows them
// back from the last one.
func chain(table, last, columns string) string {
	return `WITH RECURSIVE chain (num) AS (
			SELECT ` + last + ` FROM conversation WHERE shop = (SELECT num FROM shop WHERE key = ?) AND id = ?
		UNION ALL
			SELECT t.prev FROM chain JOIN ` + table + ` t USING (num) LIMIT ?)
		SELECT ` + columns + ` FROM chain JOIN ` + table + ` USING (num) ORDER BY num`
}

// Transcript implements store.View.
func (v view) Transcript(id string, limit int) ([]conversation.Line, error) {
	return list(v, func(row []driver.Value) (conversation.Line, error) {
		return line(text(row[0]), text(row[1]))
	}, chain("line", "line", "body, delivery"), v.shop, id, int64(max(limit, 0)))
}

// Log implements store.View.
func (v view) Log(id string, limit int) ([]conversation.LogEntry, error) {
	return list(v, body[conversation.LogEntry], chain("log", "entry", "body"), v.shop, id, int64(max(limit, 0)))
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
func (v view) Reminders(id string) (reminders []conversation.Reminder, err error) {
	err = v.s.read(v.ctx, func(r *reader) error {
		reminders, err = r.reminders(v.shop, id)
		return err
	})
	return reminders, err
}

// reminders reads a conversation's list and then each one, in one transaction.
func (r *reader) reminders(shop, id string) (out []conversation.Reminder, err error) {
	if err := r.script("BEGIN"); err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, r.script("COMMIT")) }()
	num, list := int64(0), []pending(nil)
	err = r.rows(func(row []driver.Value) error {
		num = integer(row[0])
		list, err = readPending(text(row[1]))
		return err
	}, "SELECT num, reminders FROM conversation WHERE shop = (SELECT num FROM shop WHERE key = ?) AND id = ?", shop, id)
	if err != nil {
		return nil, err
	}
	for _, p := range list {
		err := r.rows(func(row []driver.Value) error {
			one, err := body[conversation.Reminder](row)
			one.Due = record.Time(p.due)
			out = append(out, one)
			return err
		}, "SELECT body FROM reminder WHERE due = ? AND conversation = ? AND id = ?", p.due, num, p.id)
		if err != nil {
			return nil, err
		}
	}
	record.EarliestFirst(out)
	return out, nil
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
