package dispatch_test

import (
	"context"
	"fmt"
	"log/slog"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/dispatch"
	"tubhand/internal/store"
	"tubhand/internal/store/memory"
	"tubhand/internal/turn"
)

var noon = time.Date(2026, 6, 13, 12, 0, 0, 0, time.UTC)

// script is a Decider that does what the text says: "say 3" sends three messages,
// "page x" calls staff, "remind 10m" sets a reminder. A due reminder and a dead delivery are written down in
// the transcript and, the reminder, sent.
type script struct{}

func (script) Decide(c conversation.Conversation, ev conversation.Event, now time.Time) (conversation.Conversation, conversation.Effects) {
	var fx conversation.Effects
	id := func() string { c.Made++; return fmt.Sprintf("%s.%d", c.ID, c.Made) }
	say := func(text string) {
		fx.Lines = append(fx.Lines, conversation.Line{ID: id(), Conversation: c.ID, At: now, Direction: conversation.Out,
			Text: text, Send: true, Gateway: "plain", To: c.ID, Class: conversation.ClassReply})
	}
	note := func(text string) {
		fx.Lines = append(fx.Lines, conversation.Line{ID: id(), Conversation: c.ID, At: now, Direction: conversation.Note, Text: text})
	}
	switch ev.Kind {
	case conversation.TextIn:
		for _, order := range strings.Split(ev.Text, ",") {
			verb, rest, _ := strings.Cut(strings.TrimSpace(order), " ")
			switch verb {
			case "say":
				say(rest)
			case "elsewhere":
				say(rest)
				fx.Lines[len(fx.Lines)-1].Gateway = "elsewhere"
			case "page":
				say(rest)
				page := &fx.Lines[len(fx.Lines)-1]
				page.Direction, page.Class, page.To = conversation.Page, conversation.ClassPage, "dana"
			case "remind":
				d, _ := time.ParseDuration(rest)
				fx.Remind = append(fx.Remind, conversation.Reminder{ID: id(), Conversation: c.ID, Due: now.Add(d), Name: rest})
			}
		}
	case conversation.ReminderDue:
		note("due " + ev.Reminder.Name)
		say("it is time: " + ev.Reminder.Name)
	case conversation.DeliveryDead:
		note("dead " + ev.Failed.Text)
	}
	return c, fx
}

// carrier is a Sender that keeps what it carried and answers as told.
type carrier struct {
	mu     sync.Mutex
	sent   []conversation.Line
	tries  []time.Time
	answer func(l conversation.Line, try int) store.Result // nil: sent
	takes  time.Duration
}

func (c *carrier) Send(ctx context.Context, _ string, l conversation.Line) store.Result {
	c.mu.Lock()
	takes := c.takes
	c.mu.Unlock()
	if takes > 0 {
		select {
		case <-time.After(takes):
		case <-ctx.Done():
			return store.Result{Kind: store.Retry, Why: "cut short"}
		}
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.tries = append(c.tries, time.Now())
	r := store.Result{Kind: store.Sent}
	if c.answer != nil {
		r = c.answer(l, len(c.tries))
	}
	if r.Kind == store.Sent {
		c.sent = append(c.sent, l)
	}
	return r
}

func (c *carrier) texts() []string {
	c.mu.Lock()
	defer c.mu.Unlock()
	var out []string
	for _, l := range c.sent {
		out = append(out, l.Text)
	}
	return out
}

// bench is a dispatcher with all around it: a store, turns, a carrier.
type bench struct {
	*dispatch.Dispatcher
	store   store.Store
	queue   *faulty
	turns   *turn.Runner
	carrier *carrier
	texts   int
}

// faulty is a Queue whose next answers can be errors.
type faulty struct {
	store.Store
	mu                    sync.Mutex
	settle, claim, claimR []error
}

func (f *faulty) next(list *[]error) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	if len(*list) == 0 {
		return nil
	}
	err := (*list)[0]
	*list = (*list)[1:]
	return err
}

func (f *faulty) SettleOutbox(ctx context.Context, r []store.Result) error {
	if err := f.next(&f.settle); err != nil {
		return err
	}
	return f.Store.SettleOutbox(ctx, r)
}

func (f *faulty) ClaimOutbox(ctx context.Context, now time.Time, lease time.Duration, n int) ([]store.Outgoing, error) {
	if err := f.next(&f.claim); err != nil {
		return nil, err
	}
	return f.Store.ClaimOutbox(ctx, now, lease, n)
}

func (f *faulty) ClaimDue(ctx context.Context, now time.Time, lease time.Duration, n int) ([]store.Due, error) {
	if err := f.next(&f.claimR); err != nil {
		return nil, err
	}
	return f.Store.ClaimDue(ctx, now, lease, n)
}

func setup(t testing.TB, c clock.Clock) *bench {
	t.Helper()
	return setupOn(t, c, memory.New(), script{})
}

func setupOn(t testing.TB, c clock.Clock, s store.Store, decider turn.Decider) *bench {
	t.Helper()
	b := &bench{store: s, queue: &faulty{Store: s}, carrier: &carrier{}}
	log := slog.New(slog.DiscardHandler)
	b.turns = turn.New(turn.Config{Store: s, Shops: map[string]turn.Decider{"fern": decider}, Clock: c, Log: log,
		Committed: func(_ string, fx conversation.Effects) { b.Poke(fx) }})
	b.Dispatcher = dispatch.New(dispatch.Config{Queue: b.queue, Turns: b.turns, Clock: c, Log: log,
		Random: func() float64 { return 0.5 },
		Sender: func(_, gateway string) (dispatch.Sender, bool) { return b.carrier, gateway == "plain" }})
	t.Cleanup(func() { b.Stop(); require.NoError(t, s.Close()) })
	return b
}

// text hands a text of an owner in.
func (b *bench) text(t testing.TB, from, text string) {
	t.Helper()
	b.texts++
	require.NoError(t, b.turns.Handle(t.Context(), "fern", conversation.Event{
		ID: fmt.Sprint("in:", b.texts), Kind: conversation.TextIn, From: from, Gateway: "plain", Text: text}))
}

// notes gives what was written down for staff in a conversation.
func (b *bench) notes(t testing.TB, id string) []string {
	t.Helper()
	var out []string
	for _, l := range b.lines(t, id) {
		if l.Direction == conversation.Note {
			out = append(out, l.Text)
		}
	}
	return out
}

func (b *bench) lines(t testing.TB, id string) []conversation.Line {
	t.Helper()
	lines, err := b.store.View(t.Context(), "fern").Transcript(id, 500)
	require.NoError(t, err)
	return lines
}

// delivery gives the delivery states of a conversation's messages, in order.
func (b *bench) delivery(t testing.TB, id string) []string {
	t.Helper()
	var out []string
	for _, l := range b.lines(t, id) {
		if l.Send {
			out = append(out, l.Delivery)
		}
	}
	return out
}

func (b *bench) counts(t testing.TB) store.Counts {
	t.Helper()
	n, err := b.store.View(t.Context(), "fern").Counts()
	require.NoError(t, err)
	return n
}

func repeat(s string, n int) []string { return slices.Repeat([]string{s}, n) }
