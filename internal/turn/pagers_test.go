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
	"tubhand/internal/store"
	"tubhand/internal/turn"
)

// caseFile is a view that knows open handovers only.
type caseFile struct {
	store.View
	open []conversation.Handover
	down error
}

func (c caseFile) Handovers(bool, int) ([]conversation.Handover, error) { return c.open, c.down }

// listener is a Decider that keeps the last event it was given.
type listener struct{ last conversation.Event }

func (l *listener) Decide(c conversation.Conversation, ev conversation.Event, _ time.Time) (conversation.Conversation, conversation.Effects) {
	l.last = ev
	return c, conversation.Effects{}
}

func TestStaffTakeAHandoverByItsCode(t *testing.T) {
	const dana, owner = "+15415550111", "+15415550142"
	cases := caseFile{open: []conversation.Handover{
		{ID: "h1", Conversation: owner, Code: "K7QM"}, {ID: "h2", Conversation: "+15415550143", Code: "T4AC"},
	}}
	for _, c := range []struct {
		from, text string
		takes      string
	}{
		{dana, "K7QM", "h1"},
		{dana, " t4ac! on my way", "h2"},
		{dana, "K7QMX", ""},
		{dana, "hi, my own tub foams", ""},
		{dana, "", ""},
		{owner, "K7QM", ""}, // an owner takes nothing
	} {
		heard := &listener{}
		r := turn.New(turn.Config{Store: newShelf(), Shops: map[string]turn.Decider{"fern": heard},
			Clock: clock.NewStill(noon), Log: slog.New(slog.DiscardHandler)})
		p := turn.NewPagers(r, func(context.Context, string) store.View { return cases },
			[]*conversation.Shop{{Key: "fern", OnCall: []conversation.Pager{{Key: "dana", Address: dana}}}})
		ev := text("1", c.text)
		ev.From = c.from
		require.NoError(t, p.Handle(t.Context(), "fern", ev))
		if c.takes == "" {
			require.Equal(t, ev, heard.last, c.text)
			continue
		}
		require.Equal(t, conversation.StaffAct, heard.last.Kind)
		require.Equal(t, conversation.StaffAction{Act: conversation.Claim, By: "dana", Handover: c.takes}, heard.last.Staff)
		require.NotEqual(t, dana, heard.last.From, "it is the owner's conversation")
		require.Equal(t, "1", heard.last.ID, "a repeated text takes it once")

		cases := caseFile{down: errors.New("disk full")}
		p = turn.NewPagers(r, func(context.Context, string) store.View { return cases },
			[]*conversation.Shop{{Key: "fern", OnCall: []conversation.Pager{{Key: "dana", Address: dana}}}})
		require.ErrorIs(t, p.Handle(t.Context(), "fern", ev), cases.down)
	}
}
