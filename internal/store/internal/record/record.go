// Package record holds what every store does alike: checking a turn before it is
// written, the written form of a record, and the few orders that the contract of
// package store lays down. It keeps the stores from drifting apart.
package record

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	fast "github.com/go-json-experiment/json/v1"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

// MarksKept is how long dedupe marks are kept. The contract asks for 72 hours, the
// longest that a gateway is expected to repeat a callback; the rest is margin.
const MarksKept = 80 * time.Hour

// ErrTurn is the cause of every error about a turn that no store can write.
var ErrTurn = errors.New("turn cannot be stored")

// Normal checks a turn and returns it with what the store fills in: the conversation
// and shop of each effect, and the delivery state of what is to be sent. The caller's
// slices are left alone.
func Normal(t store.Turn) (store.Turn, error) {
	if err := checkState(&t); err != nil {
		return t, fmt.Errorf("%w: %w", ErrTurn, err)
	}
	t.State.Shop = t.Shop
	if err := fillEffects(&t); err != nil {
		return t, fmt.Errorf("%w: %w", ErrTurn, err)
	}
	return t, nil
}

func checkState(t *store.Turn) error {
	switch {
	case t.Shop == "":
		return errors.New("it names no shop")
	case t.State.Shop != "" && t.State.Shop != t.Shop:
		return fmt.Errorf("its state is of shop %q, not of %q", t.State.Shop, t.Shop)
	case t.State.ID == "":
		return errors.New("its conversation has no id")
	case len(t.State.Owner.Addresses) == 0:
		return fmt.Errorf("conversation %q has no address to be found by", t.State.ID)
	}
	for _, a := range t.State.Owner.Addresses {
		if strings.ContainsRune(a, '\n') {
			return fmt.Errorf("there is a line break in the address %q", a)
		}
	}
	return nil
}

func fillEffects(t *store.Turn) error {
	e := &t.Effects
	e.Lines = append([]conversation.Line(nil), e.Lines...)
	e.Remind = append([]conversation.Reminder(nil), e.Remind...)
	e.Handovers = append([]conversation.Handover(nil), e.Handovers...)
	e.Log = append([]conversation.LogEntry(nil), e.Log...)
	if err := oneDay(e.Tally); err != nil {
		return err
	}
	own := &owned{id: t.State.ID}
	for i := range e.Lines {
		l := &e.Lines[i]
		own.claim("line", l.ID, &l.Conversation)
		for _, before := range e.Lines[:i] {
			if before.ID == l.ID {
				return fmt.Errorf("two of its lines have the id %q", l.ID)
			}
		}
		if l.Send && l.Delivery == "" {
			l.Delivery = Queued
		}
	}
	for i := range e.Remind {
		own.claim("reminder", e.Remind[i].ID, &e.Remind[i].Conversation)
		if strings.ContainsRune(e.Remind[i].ID, '\n') {
			return fmt.Errorf("there is a line break in the reminder's id %q", e.Remind[i].ID)
		}
	}
	for i := range e.Handovers {
		own.claim("handover", e.Handovers[i].ID, &e.Handovers[i].Conversation)
		e.Handovers[i].Shop = t.Shop
	}
	for i := range e.Log {
		own.claim("log entry", e.Log[i].ID, &e.Log[i].Conversation)
	}
	return own.err
}

// owned collects the first effect that is not the conversation's own.
type owned struct {
	id  string
	err error
}

func (o *owned) claim(what, id string, conversation *string) {
	switch {
	case o.err != nil:
	case id == "":
		o.err = fmt.Errorf("a %s of conversation %q has no id", what, o.id)
	case *conversation == "":
		*conversation = o.id
	case *conversation != o.id:
		o.err = fmt.Errorf("%s %q is of conversation %q, not of %q", what, id, *conversation, o.id)
	}
}

// Encode gives the written form of a record: its JSON.
func Encode(v any) (string, error) {
	b, err := json.Marshal(v)
	if err != nil {
		return "", fmt.Errorf("encode %T: %w", v, err)
	}
	return string(b), nil
}

// Decode reads a record from its written form. The reader is the standard library's next
// one, which takes half the time, with the rules of the present one.
func Decode[T any](written string) (T, error) {
	var v T
	if err := fast.Unmarshal([]byte(written), &v); err != nil {
		return v, fmt.Errorf("decode %T: %w", v, err)
	}
	return v, nil
}

// State reads a conversation from its written form and gives it its version, which is
// kept beside it.
func State(written string, version int64) (conversation.Conversation, error) {
	c, err := Decode[conversation.Conversation](written)
	c.Version = version
	return c, err
}
