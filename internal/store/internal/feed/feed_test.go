package feed_test

import (
	"context"
	"fmt"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/store"
	"tubhand/internal/store/internal/feed"
)

func TestSlowReaderIsToldToReadEverything(t *testing.T) {
	var h feed.Hub
	changes := h.Watch(t.Context(), "fern")
	for i := range 1000 {
		h.Tell(store.Change{Shop: "fern", Conversation: fmt.Sprint(i)})
	}
	var got []store.Change
	for len(changes) > 0 {
		got = append(got, <-changes)
	}
	require.Contains(t, got, store.Change{Shop: "fern"})
	require.Equal(t, store.Change{Shop: "fern", Conversation: "999"}, got[len(got)-1])
	h.Tell(store.Change{Shop: "fern", Conversation: "next"})
	require.Equal(t, store.Change{Shop: "fern", Conversation: "next"}, <-changes, "one who has caught up is told again")
}

func TestWatchersAreCounted(t *testing.T) {
	var h feed.Hub
	require.False(t, h.Watched())
	ctx, cancel := context.WithCancel(t.Context())
	one, two := h.Watch(ctx, "fern"), h.Watch(t.Context(), "moss")
	require.True(t, h.Watched())
	cancel()
	for range one { // until it is closed
	}
	require.True(t, h.Watched())
	h.Tell(store.Change{Shop: "fern", Conversation: "a"}, store.Change{Shop: "moss", Conversation: "b"})
	require.Equal(t, store.Change{Shop: "moss", Conversation: "b"}, <-two)
	h.Close()
	h.Close()
	_, open := <-two
	require.False(t, open)
	require.False(t, h.Watched())
}

func TestComingAndGoingWhileTold(t *testing.T) {
	var h feed.Hub
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			for range 200 {
				ctx, cancel := context.WithCancel(t.Context())
				changes := h.Watch(ctx, "fern")
				h.Tell(store.Change{Shop: "fern", Conversation: "a"})
				require.NotEmpty(t, <-changes)
				cancel()
				for range changes {
				}
			}
		})
	}
	wg.Wait()
	require.False(t, h.Watched())
}
