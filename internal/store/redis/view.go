package redis

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
)

// view is one shop. Each method is one script or command, and so sees one moment.
type view struct {
	s    *Store
	ctx  context.Context
	keys *shopKeys
}

// View implements store.Store.
func (s *Store) View(ctx context.Context, shop string) store.View {
	return view{s, ctx, s.shopKeys(shop)}
}

// Board implements store.View.
func (v view) Board(limit int) (cards []store.Card, err error) {
	last := strconv.Itoa(record.Limit(limit, 500) - 1)
	reply, err := v.s.run(v.ctx, v.s.scripts.board, false, []string{v.keys.hash, v.keys.board}, last)
	if err != nil {
		return nil, err
	}
	list := texts(reply)
	for i := 0; i+2 < len(list); i += 3 {
		c, err := card(list[i], list[i+1], list[i+2])
		if err != nil {
			return nil, err
		}
		cards = append(cards, c)
	}
	return cards, nil
}

// card reads a conversation, its last line ("index", then its element) and its reminders.
func card(written, last, pending string) (c store.Card, err error) {
	if c.State, c.Changed, err = state(written); err != nil {
		return c, err
	}
	if last != "" {
		_, element, _ := strings.Cut(last, "\n")
		if c.Last, err = line(element); err != nil {
			return c, err
		}
	}
	list, err := reminders(pending)
	if len(list) > 0 {
		c.NextDue = list[0].Due
	}
	return c, err
}

// reminders reads a conversation's reminders ("due\tid\tbody", one a line), earliest first.
func reminders(written string) (list []conversation.Reminder, err error) {
	for one := range strings.Lines(written) {
		words := strings.SplitN(strings.TrimSuffix(one, "\n"), "\t", 3)
		r, err := record.Decode[conversation.Reminder](words[len(words)-1])
		if err != nil {
			return nil, err
		}
		list = append(list, r)
	}
	record.EarliestFirst(list)
	return list, nil
}

// line reads an element of a transcript: its delivery state, its id and its body.
func line(element string) (conversation.Line, error) {
	delivery, rest, _ := strings.Cut(element, "\n")
	_, body, _ := strings.Cut(rest, "\n")
	l, err := record.Decode[conversation.Line](body)
	l.Delivery = delivery
	return l, err
}

// Conversation implements store.View.
func (v view) Conversation(id string) (conversation.Conversation, error) {
	written, err := v.field("s" + id)
	if err != nil {
		return conversation.Conversation{}, err
	}
	if written == "" {
		return conversation.Conversation{}, store.ErrNotFound
	}
	c, _, err := state(written)
	return c, err
}

// tail reads up to limit last elements of a list.
func tail[T any](v view, key string, limit int, read func(string) (T, error)) (out []T, err error) {
	if limit <= 0 {
		return nil, v.s.open(v.ctx)
	}
	reply, err := v.s.do(v.ctx, &call{words: []any{"LRANGE", key, -limit, -1}})
	if err != nil {
		return nil, err
	}
	return each(texts(reply), read)
}

func each[T any](list []string, read func(string) (T, error)) (out []T, err error) {
	for _, text := range list {
		one, err := read(text)
		if err != nil {
			return nil, err
		}
		out = append(out, one)
	}
	return out, nil
}

// Transcript implements store.View.
func (v view) Transcript(id string, limit int) ([]conversation.Line, error) {
	return tail(v, v.keys.lines+id, limit, line)
}

// Log implements store.View.
func (v view) Log(id string, limit int) ([]conversation.LogEntry, error) {
	return tail(v, v.keys.logs+id, limit, record.Decode[conversation.LogEntry])
}

// Handovers implements store.View.
func (v view) Handovers(closed bool, limit int) ([]conversation.Handover, error) {
	if limit <= 0 {
		return nil, v.s.open(v.ctx)
	}
	order := v.keys.open
	if closed {
		order = v.keys.closed
	}
	reply, err := v.s.run(v.ctx, v.s.scripts.handovers, false, []string{v.keys.hash, order}, strconv.Itoa(limit-1))
	if err != nil {
		return nil, err
	}
	return each(texts(reply), record.Decode[conversation.Handover])
}

// Reminders implements store.View.
func (v view) Reminders(id string) ([]conversation.Reminder, error) {
	written, err := v.field("r" + id)
	if err != nil {
		return nil, err
	}
	return reminders(written)
}

// Counts implements store.View.
func (v view) Counts() (n store.Counts, err error) {
	written, err := v.field("#")
	if err != nil || written == "" {
		return n, err
	}
	_, err = fmt.Sscan(written, &n.Conversations, &n.Turns, &n.Outbox, &n.Reminders, &n.Handovers)
	if err != nil {
		return n, fmt.Errorf("redis: the counts of shop %q are %q: %w", v.keys.name, written, err)
	}
	return n, nil
}

// field reads a field of the shop; "" when it isn't there.
func (v view) field(name string) (string, error) {
	reply, err := v.s.do(v.ctx, &call{words: []any{"HGET", v.keys.hash, name}})
	if err != nil {
		return "", err
	}
	written, _ := reply.(string)
	return written, nil
}
