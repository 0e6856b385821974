package storetest

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

// BenchTurns measures whole turns: read, then commit a state of some 1.2 KiB with two
// lines, one of them sent, one reminder set, one cancelled and a log entry. 64 callers
// at once over 2,048 tubs. It reports turns/s.
func BenchTurns(b *testing.B, s store.Store) {
	BenchCalls(b, func(ctx context.Context, tub, _ int64) error {
		return BenchTurn(ctx, s, fmt.Sprintf("+1541555%04d", tub))
	})
}

// BenchCalls measures calls for one tub, each with its number from 1 on: 64 callers at
// once over 2,048 tubs, so that no two of them have one tub in hand. It reports turns/s.
func BenchCalls(b *testing.B, call func(ctx context.Context, tub, n int64) error) {
	const callers, tubs = 64, 2048
	var next atomic.Int64
	var wg sync.WaitGroup
	start := make(chan struct{})
	for caller := range int64(callers) {
		wg.Go(func() {
			<-start
			tub := caller
			for n := next.Add(1); n <= int64(b.N); n = next.Add(1) {
				if err := call(b.Context(), tub%tubs, n); err != nil {
					b.Error(err)
					return
				}
				tub += callers
			}
		})
	}
	b.ResetTimer()
	close(start)
	wg.Wait()
	b.StopTimer()
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "turns/s")
}

// BenchTurn reads a conversation and commits its next turn.
func BenchTurn(ctx context.Context, s store.Store, address string) error {
	c, err := s.Load(ctx, shopA, address)
	if errors.Is(err, store.ErrNotFound) {
		c, err = State(shopA, address), nil
	}
	if err != nil {
		return err
	}
	return s.Commit(ctx, NextTurn(c))
}

// NextTurn is the turn that measurements commit on a state.
func NextTurn(c conversation.Conversation) store.Turn {
	now := noon.Add(time.Duration(c.Version) * time.Second)
	id := func(kind string, n int64) string { return fmt.Sprintf("%s.%s%d", c.ID, kind, n) }
	v := c.Version
	return store.Turn{
		Shop: c.Shop, Event: id("SM0123456789abcdef", v), Now: now, State: c,
		Effects: conversation.Effects{
			Lines: []conversation.Line{
				{ID: id("in", v), At: now, Direction: conversation.In, Text: "done, they're off", Understood: "done"},
				{
					ID: id("out", v), At: now, Direction: conversation.Out, Send: true, Class: conversation.ClassReply, Gateway: "plain", From: "+15415550100", To: c.ID,
					Text: "Good. Now put 3 level teaspoons of Line Flush in, turn the jets high and let it run for 30 minutes. I will text you when it is time. Reply OK once it is in.",
				},
			},
			Remind: []conversation.Reminder{{ID: id("r", v), Due: now.Add(30 * time.Minute), Name: "timer:soak_over", Service: "s1", State: "soak"}},
			Cancel: []string{id("r", v-1)},
			Log:    []conversation.LogEntry{{ID: id("e", v), At: now, Kind: "state", Name: "soak", Text: "Soaking since 12:00"}},
		},
	}
}
