package console_test

import (
	"bufio"
	"context"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/console"
)

// watchAs has a member of staff open a conversation, and gives who else is told to be there,
// each time it is told.
func (d *desk) watchAs(ctx context.Context, base, who string) <-chan string {
	d.Helper()
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, base+"/live?with=%2B15415550142", nil)
	require.NoError(d, err)
	request.AddCookie(&http.Cookie{Name: "tubhand_who", Value: who})
	answer, err := http.DefaultClient.Do(request)
	require.NoError(d, err)
	d.Cleanup(func() { _ = answer.Body.Close() })
	told := make(chan string, 1000)
	go func() {
		defer close(told)
		name := ""
		for lines := bufio.NewScanner(answer.Body); lines.Scan(); {
			if after, ok := strings.CutPrefix(lines.Text(), "event: "); ok {
				name = after
			}
			if after, ok := strings.CutPrefix(lines.Text(), "data: "); ok && name == "here" {
				told <- after
			}
		}
	}()
	return told
}

// until waits for something to be told.
func until(t *testing.T, told <-chan string, want string) {
	t.Helper()
	late := time.After(20 * time.Second)
	last := ""
	for {
		select {
		case last = <-told:
			if last == want {
				return
			}
		case <-late:
			require.FailNow(t, "never told", "%s; the last was %s", want, last)
		}
	}
}

func TestTwoStaffOnOneConversationSeeEachOther(t *testing.T) {
	d := newDesk(t)
	d.putAda()
	dana := d.watchAs(t.Context(), d.server.URL+"/staff", "dana")
	until(t, dana, "[]")
	ctx, leave := context.WithCancel(t.Context())
	luis := d.watchAs(ctx, d.server.URL+"/staff", "luis")
	until(t, dana, `[{"name":"Luis"}]`)
	until(t, luis, `[{"name":"Dana"}]`)

	status, _, _ := d.post("/staff/here", url.Values{"conversation": {"+15415550142"}, "writing": {"yes"}}, "Cookie", "tubhand_who=luis")
	require.Equal(t, http.StatusNoContent, status)
	until(t, dana, `[{"name":"Luis","writing":true}]`)
	_, _, _ = d.post("/staff/here", url.Values{"conversation": {"+15415550142"}, "writing": {"no"}}, "Cookie", "tubhand_who=luis")
	until(t, dana, `[{"name":"Luis"}]`)
	leave()
	until(t, dana, "[]")
}

// TestPresenceAcrossServers: another server of the same shop tells at a heartbeat.
func TestPresenceAcrossServers(t *testing.T) {
	fast := func(o *console.Options) { o.Beat = 5 * time.Millisecond }
	d := newDesk(t, fast)
	d.putAda()
	other := newDesk(t, fast, func(o *console.Options) { o.Store, o.Runner = d.store, d.runner })
	dana := d.watchAs(t.Context(), d.server.URL+"/staff", "dana")
	ctx, leave := context.WithCancel(t.Context())
	luis := d.watchAs(ctx, other.server.URL+"/staff", "luis")
	until(t, dana, `[{"name":"Luis"}]`)
	until(t, luis, `[{"name":"Dana"}]`)
	leave()
	until(t, dana, "[]")
}

func TestNobodyIsToldOfOneself(t *testing.T) {
	d := newDesk(t)
	d.putAda()
	first := d.watchAs(t.Context(), d.server.URL+"/staff", "dana")
	second := d.watchAs(t.Context(), d.server.URL+"/staff", "dana")
	until(t, first, "[]")
	until(t, second, "[]")
}
