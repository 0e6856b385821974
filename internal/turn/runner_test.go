package turn_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/turn"
)

var noon = time.Date(2026, 6, 13, 12, 0, 0, 123456789, time.UTC)

// shelf is a store of one shop for one kind of need: it can be told to fail.
type shelf struct {
	mu      sync.Mutex
	kept    map[string]conversation.Conversation
	marks   map[string]bool
	turns   []store.Turn
	fail    []error       // answers for the next commits
	commits chan struct{} // when not nil: each commit waits for one
}

func newShelf() *shelf {
	return &shelf{kept: map[string]conversation.Conversation{}, marks: map[string]bool{}}
}

func (s *shelf) Load(_ context.Context, shop, address string) (conversation.Conversation, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	c, ok := s.kept[shop+" "+address]
	if !ok {
		return c, store.ErrNotFound
	}
	return c, nil
}

func (s *shelf) Commit(_ context.Context, t store.Turn) error {
	if s.commits != nil {
		<-s.commits
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if len(s.fail) > 0 {
		err := s.fail[0]
		s.fail = s.fail[1:]
		if err != nil {
			return err
		}
	}
	if s.marks[t.Shop+" "+t.Event] {
		return store.ErrDuplicate
	}
	if s.kept[t.Shop+" "+t.State.ID].Version != t.State.Version {
		return store.ErrConflict
	}
	s.marks[t.Shop+" "+t.Event] = true
	s.turns = append(s.turns, t)
	t.State.Version++
	s.kept[t.Shop+" "+t.State.ID] = t.State
	return nil
}

// echo counts what it hears; "boom" makes it panic.
type echo struct{}

func (echo) Decide(c conversation.Conversation, ev conversation.Event, now time.Time) (conversation.Conversation, conversation.Effects) {
	if ev.Text == "boom" {
		panic("a flaw in the flow")
	}
	c.Made++
	c.LastIn = now
	return c, conversation.Effects{Lines: []conversation.Line{{ID: fmt.Sprint(c.Made), Text: ev.Text, At: now, Send: true}}}
}

type bench struct {
	*turn.Runner
	shelf *shelf
	log   *bytes.Buffer
	seen  []turn.Observation
	pokes int
}

func setup(t *testing.T) *bench {
	t.Helper()
	b := &bench{shelf: newShelf(), log: &bytes.Buffer{}}
	b.Runner = turn.New(turn.Config{
		Store:     b.shelf,
		Shops:     map[string]turn.Decider{"fern": echo{}, "moss": echo{}},
		Clock:     clock.NewStill(noon),
		Log:       slog.New(slog.NewJSONHandler(b.log, nil)),
		Observe:   func(o turn.Observation) { b.seen = append(b.seen, o) },
		Committed: func(string, conversation.Effects) { b.pokes++ },
	})
	return b
}

func text(id, words string) conversation.Event {
	return conversation.Event{ID: id, Kind: conversation.TextIn, From: "+15415550142", To: "+15415550100",
		Gateway: "plain", Text: words, TimeZone: "America/Boise", Region: "US", Language: "es"}
}

func TestAFirstTextBeginsAConversation(t *testing.T) {
	b := setup(t)
	require.NoError(t, b.Handle(t.Context(), "fern", text("1", "hi")))
	c, err := b.shelf.Load(t.Context(), "fern", "+15415550142")
	require.NoError(t, err)
	require.Equal(t, conversation.Owner{Addresses: []string{"+15415550142"}, Language: "es", TimeZone: "America/Boise", Region: "US"}, c.Owner)
	require.Equal(t, "fern", c.Shop)
	require.EqualValues(t, 1, c.Version)
	require.Equal(t, noon.Truncate(time.Millisecond), c.LastIn, "times are kept to the millisecond")
	require.Equal(t, 1, b.pokes)
	require.Equal(t, []turn.Observation{{Kind: conversation.TextIn, Outcome: turn.Committed}}, b.seen)
}

func TestARepeatedEventIsNotHandledAgain(t *testing.T) {
	b := setup(t)
	for range 3 {
		require.NoError(t, b.Handle(t.Context(), "fern", text("1", "hi")))
	}
	require.Len(t, b.shelf.turns, 1)
	require.Equal(t, 1, b.pokes)
	require.Equal(t, turn.Duplicate, b.seen[2].Outcome)
	require.NoError(t, b.Handle(t.Context(), "moss", text("1", "hi")), "another shop's ids are its own")
	require.Len(t, b.shelf.turns, 2)
}

func TestAConflictIsDecidedAgain(t *testing.T) {
	b := setup(t)
	b.shelf.fail = []error{store.ErrConflict, fmt.Errorf("commit: %w", store.ErrConflict)}
	require.NoError(t, b.Handle(t.Context(), "fern", text("1", "hi")))
	require.Len(t, b.shelf.turns, 1)

	for range 50 {
		b.shelf.fail = append(b.shelf.fail, store.ErrConflict)
	}
	require.ErrorIs(t, b.Handle(t.Context(), "fern", text("2", "again")), turn.ErrBusy, "but not for ever")
	require.Equal(t, turn.Failed, b.seen[1].Outcome)
}

func TestWhatFailsCommitsNothingAndMayComeAgain(t *testing.T) {
	down := errors.New("disk full")
	b := setup(t)
	b.shelf.fail = []error{down}
	require.ErrorIs(t, b.Handle(t.Context(), "fern", text("1", "hi")), down)
	require.Zero(t, b.pokes)
	require.NoError(t, b.Handle(t.Context(), "fern", text("1", "hi")))
	require.Len(t, b.shelf.turns, 1)
}

func TestEventsThatCannotBeHandled(t *testing.T) {
	b := setup(t)
	require.ErrorIs(t, b.Handle(t.Context(), "elm", text("1", "hi")), turn.ErrNoShop)
	require.ErrorIs(t, b.Handle(t.Context(), "fern", conversation.Event{ID: "1", Kind: conversation.TextIn}), turn.ErrNoSender)
	due := conversation.Event{ID: "r1", Kind: conversation.ReminderDue, From: "+15415550142"}
	require.ErrorIs(t, b.Handle(t.Context(), "fern", due), store.ErrNotFound, "a reminder begins no conversation")
	require.Empty(t, b.shelf.turns)
}

func TestAPanicLosesNothing(t *testing.T) {
	b := setup(t)
	require.ErrorIs(t, b.Handle(t.Context(), "fern", text("1", "boom")), turn.ErrPanic)
	require.Empty(t, b.shelf.turns)
	require.Contains(t, b.log.String(), "a flaw in the flow")
	require.Contains(t, b.log.String(), "runner_test.go", "the stack says where")
	require.NotContains(t, b.log.String(), "+15415550142", "the number is shortened")
	require.NotContains(t, b.log.String(), `"boom"`, "texts are not logged")
	require.NoError(t, b.Handle(t.Context(), "fern", text("2", "hi")), "the lock is free again")
}

func TestTurnsOfOneConversationFollowEachOther(t *testing.T) {
	b := setup(t)
	b.Runner = turn.New(turn.Config{Store: b.shelf, Shops: map[string]turn.Decider{"fern": echo{}},
		Clock: clock.NewStill(noon), Log: slog.New(slog.DiscardHandler)})
	for range 100 {
		b.shelf.fail = append(b.shelf.fail, nil)
	}
	var all sync.WaitGroup
	for i := range 100 {
		all.Go(func() {
			require.NoError(t, b.Handle(t.Context(), "fern", text(fmt.Sprint(i), "hi")))
		})
	}
	all.Wait()
	require.Len(t, b.shelf.turns, 100)
	for i, done := range b.shelf.turns {
		require.EqualValues(t, i, done.State.Version, "no turn was decided on a stale state")
	}
}

func TestOtherConversationsDoNotWait(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := newShelf()
		s.commits = make(chan struct{})
		r := turn.New(turn.Config{Store: s, Shops: map[string]turn.Decider{"fern": echo{}},
			Clock: clock.System(), Log: slog.New(slog.DiscardHandler)})
		var waiting sync.WaitGroup
		for i := range 3 {
			waiting.Go(func() {
				ev := text(fmt.Sprint(i), "hi")
				ev.From += fmt.Sprint(i)
				require.NoError(t, r.Handle(t.Context(), "fern", ev))
			})
		}
		synctest.Wait() // all three stand before their commit

		impatient, leave := context.WithTimeout(t.Context(), time.Second)
		defer leave()
		late := text("late", "hi")
		late.From += "0"
		require.ErrorIs(t, r.Handle(impatient, "fern", late), context.DeadlineExceeded, "who waits for a lock can leave")
		close(s.commits)
		waiting.Wait()
		require.Len(t, s.turns, 3)
	})
}
