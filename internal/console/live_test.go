package console_test

import (
	"bufio"
	"context"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/console"
	"tubhand/internal/conversation"
)

// listen opens the live connection and gives its events, "name data", as they come.
func (d *desk) listen(ctx context.Context) (<-chan string, *http.Response) {
	d.Helper()
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, d.server.URL+"/staff/live", nil)
	require.NoError(d, err)
	answer, err := http.DefaultClient.Do(request)
	require.NoError(d, err)
	d.Cleanup(func() { _ = answer.Body.Close() })
	events := make(chan string, 100)
	go func() {
		defer close(events)
		name := ""
		for lines := bufio.NewScanner(answer.Body); lines.Scan(); {
			if after, ok := strings.CutPrefix(lines.Text(), "event: "); ok {
				name = after
			}
			if after, ok := strings.CutPrefix(lines.Text(), "data: "); ok {
				events <- name + " " + after
			}
		}
	}()
	return events, answer
}

func TestLiveTellsChangesAndBeats(t *testing.T) {
	d := newDesk(t, func(o *console.Options) { o.Beat = 5 * time.Millisecond })
	d.putAda()
	events, answer := d.listen(t.Context())
	require.Equal(t, "text/event-stream", answer.Header.Get("Content-Type"))
	require.Equal(t, "beat 2026-06-13T17:40:00Z", <-events)
	require.Equal(t, "beat 2026-06-13T17:40:00Z", <-events, "beats come by themselves")

	err := d.runner.Handle(t.Context(), "fernhollow", conversation.Event{ID: "in:1", Kind: conversation.TextIn, From: "+15415550142", Text: "done"})
	require.NoError(t, err)
	for event := range events {
		if !strings.HasPrefix(event, "beat") {
			require.Equal(t, `change "+15415550142"`, event)
			return
		}
	}
	require.Fail(t, "the connection ended without the change")
}

func TestCloseEndsLiveConnections(t *testing.T) {
	d := newDesk(t)
	events, _ := d.listen(t.Context())
	require.Contains(t, <-events, "beat")
	d.console.Close()
	d.console.Close()
	_, open := <-events
	require.False(t, open)
}

func TestLiveConnectionsAreBounded(t *testing.T) {
	d := newDesk(t, func(o *console.Options) { o.MostLive = 1 })
	ctx, cancel := context.WithCancel(t.Context())
	events, _ := d.listen(ctx)
	<-events
	_, second := d.listen(t.Context())
	require.Equal(t, http.StatusServiceUnavailable, second.StatusCode)
	require.NotEmpty(t, second.Header.Get("Retry-After"))
	cancel()
	for range events {
	}
	require.Eventually(t, func() bool { // the server notices a moment after the browser has gone
		_, again := d.listen(t.Context())
		return again.StatusCode == http.StatusOK
	}, 5*time.Second, 10*time.Millisecond)
}
