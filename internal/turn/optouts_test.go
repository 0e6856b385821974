package turn_test

import (
	"context"
	"errors"
	"log/slog"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/store/memory"
	"tubhand/internal/turn"
)

// book is a register in memory.
type book struct {
	out  map[string]time.Time
	down error
}

func (b *book) Since(_ context.Context, _, address string) (time.Time, bool, error) {
	since, ok := b.out[address]
	return since, ok, b.down
}

func (b *book) Keep(_ context.Context, _, address string, since time.Time) error {
	if b.down == nil {
		b.out[address] = since
	}
	return b.down
}

func (b *book) Lift(_ context.Context, _, address string) error {
	delete(b.out, address)
	return b.down
}

// obeys opts out at STOP, comes back at START, and writes to another address at LINK
// unless that is barred.
type obeys struct{}

func (obeys) Decide(c conversation.Conversation, ev conversation.Event, now time.Time) (conversation.Conversation, conversation.Effects) {
	c = c.Clone()
	var fx conversation.Effects
	switch ev.Text {
	case "STOP":
		c.OptOut(ev.From, now)
	case "START":
		c.OptedOut, c.Consent.Out = false, nil
	case "LINK":
		to := friend
		if ev.Barred == friend {
			to = ev.From
		}
		fx.Lines = []conversation.Line{{ID: ev.ID + ".1", Direction: conversation.Out, Send: true, To: to, Class: conversation.ClassReply}}
	}
	return c, fx
}

const friend = "+15415550143"

func obeying(t *testing.T, b *book) (*turn.Runner, *memory.Store) {
	t.Helper()
	s := memory.New()
	return turn.New(turn.Config{Store: s, Shops: map[string]turn.Decider{"fern": obeys{}}, Clock: clock.NewStill(noon),
		Log: slog.New(slog.DiscardHandler), OptOuts: b}), s
}

func TestOptOutsAreKeptBesideConversations(t *testing.T) {
	b := &book{out: map[string]time.Time{}}
	r, s := obeying(t, b)
	require.NoError(t, r.Handle(t.Context(), "fern", text("1", "STOP")))
	from := text("1", "").From
	require.Contains(t, b.out, from)
	c, err := s.Load(t.Context(), "fern", from)
	require.NoError(t, err)
	_, err = s.EraseConversation(t.Context(), "fern", c.ID, c.Version)
	require.NoError(t, err)
	require.NoError(t, r.Handle(t.Context(), "fern", text("2", "hi")))
	c, err = s.Load(t.Context(), "fern", from)
	require.NoError(t, err)
	require.True(t, c.OptedOut, "they begin anew, and are still opted out")
	require.NoError(t, r.Handle(t.Context(), "fern", text("3", "START")))
	require.Empty(t, b.out)
}

func TestNothingIsCommittedWhereAnOptOutCannotBeKept(t *testing.T) {
	down := errors.New("disk full")
	b := &book{out: map[string]time.Time{}}
	r, s := obeying(t, b)
	require.NoError(t, r.Handle(t.Context(), "fern", text("1", "hi")))
	b.down = down
	require.ErrorIs(t, r.Handle(t.Context(), "fern", text("2", "STOP")), down)
	c, err := s.Load(t.Context(), "fern", text("", "").From)
	require.NoError(t, err)
	require.False(t, c.OptedOut, "the text will come again")
	b.down = nil
	require.NoError(t, r.Handle(t.Context(), "fern", text("2", "STOP")))
	b.down = down
	require.NoError(t, r.Handle(t.Context(), "fern", text("3", "START")), "they are back, whatever the register says")
}

func TestNoTurnWritesToAnotherAddressThatHasOptedOut(t *testing.T) {
	sent := func(r *turn.Runner, s *memory.Store, id string) string {
		require.NoError(t, r.Handle(t.Context(), "fern", text(id, "LINK")))
		out, err := s.ClaimOutbox(t.Context(), noon.Add(time.Hour), time.Minute, 10)
		require.NoError(t, err)
		require.Len(t, out, 1)
		return out[0].Line.To
	}
	b := &book{out: map[string]time.Time{}}
	r, s := obeying(t, b)
	require.Equal(t, friend, sent(r, s, "1"))

	b.out[friend] = noon
	r, s = obeying(t, b)
	require.NotEqual(t, friend, sent(r, s, "2"), "by the register")

	b = &book{out: map[string]time.Time{}}
	r, s = obeying(t, b)
	stop := text("3", "STOP")
	stop.From = friend
	require.NoError(t, r.Handle(t.Context(), "fern", stop))
	clear(b.out)
	require.NotEqual(t, friend, sent(r, s, "4"), "by their own conversation")
}
