package console_test

import (
	"context"
	"io"
	"log/slog"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/gin-gonic/gin"
	"github.com/stretchr/testify/require"

	"tubhand/flows"
	"tubhand/internal/clock"
	"tubhand/internal/console"
	"tubhand/internal/conversation"
	"tubhand/internal/flow"
	"tubhand/internal/shop"
	"tubhand/internal/store"
	"tubhand/internal/store/memory"
	"tubhand/internal/turn"
)

// morning is a Saturday, 10:40 in the demo shop.
var morning = time.Date(2026, 6, 13, 17, 40, 0, 0, time.UTC)

// allFlows reads the flow files once for all tests.
var allFlows = sync.OnceValues(func() (*flow.Set, error) { return flow.Load(flows.FS) })

// clerk decides staff actions in the plainest way, and keeps the events.
type clerk struct {
	mu   sync.Mutex
	seen []conversation.Event
}

func (k *clerk) Decide(c conversation.Conversation, ev conversation.Event, now time.Time) (conversation.Conversation, conversation.Effects) {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.seen = append(k.seen, ev)
	var out conversation.Effects
	line := conversation.Line{ID: ev.ID, Conversation: c.ID, At: now, Direction: conversation.Staff, By: ev.Staff.By, Text: ev.Staff.Text}
	switch {
	case ev.Kind == conversation.TextIn:
		line.Direction, line.Text, line.Understood = conversation.In, ev.Text, "done"
		c.LastIn = now
		out.Lines = append(out.Lines, line)
	case ev.Staff.Act == conversation.Reply:
		line.Send, line.Class = true, conversation.ClassStaff
		out.Lines = append(out.Lines, line)
	case ev.Staff.Act == conversation.Claim:
		c.Open[0].By, c.Open[0].Claimed = ev.Staff.By, now
		out.Handovers = c.Open
	case ev.Staff.Act == conversation.NoteIt:
		c.Open[0].Notes = append(c.Open[0].Notes, conversation.Remark{At: now, By: ev.Staff.By, Text: ev.Staff.Text})
		out.Handovers = c.Open
	case ev.Staff.Act == conversation.CloseIt:
		h := c.Open[0]
		h.By, h.Closed, h.Outcome = ev.Staff.By, now, ev.Staff.Text
		c.Open, out.Handovers = c.Open[1:], []conversation.Handover{h}
	}
	return c, out
}

func (k *clerk) events() []conversation.Event {
	k.mu.Lock()
	defer k.mu.Unlock()
	return append([]conversation.Event(nil), k.seen...)
}

// desk is a console on a socket, over a memory store.
type desk struct {
	testing.TB
	store   store.Store
	clock   *clock.Jumping
	clerk   *clerk
	runner  *turn.Runner
	console *console.Console
	server  *httptest.Server
	browser *http.Client // keeps cookies, does not follow redirects
}

func newDesk(t testing.TB, change ...func(*console.Options)) *desk {
	t.Helper()
	gin.SetMode(gin.ReleaseMode)
	all, err := allFlows()
	require.NoError(t, err)
	file := shop.Demo()
	d := &desk{TB: t, store: memory.New(), clock: clock.NewStill(morning), clerk: &clerk{}}
	d.runner = runnerOf(d, file.Shop.Key)
	o := console.Options{Shop: &file.Shop, Store: d.store, Runner: d.runner, Clock: d.clock, Flows: all, LoopbackOnly: true}
	for _, f := range change {
		f(&o)
	}
	d.console, err = console.New(o)
	require.NoError(t, err)
	router := gin.New()
	d.console.Mount(router.Group("/staff"))
	d.server = httptest.NewServer(router)
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	d.browser = &http.Client{Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	t.Cleanup(func() {
		d.console.Close()
		d.server.Close()
		require.NoError(t, d.store.Close())
	})
	return d
}

// runnerOf makes what runs the turns of shops; the desk's clerk decides them.
func runnerOf(d *desk, shops ...string) *turn.Runner {
	deciders := map[string]turn.Decider{}
	for _, key := range shops {
		deciders[key] = d.clerk
	}
	return turn.New(turn.Config{Store: d.store, Shops: deciders, Clock: d.clock, Log: slog.New(slog.DiscardHandler)})
}

// put stores a conversation as some turn left it.
func (d *desk) put(c conversation.Conversation, effects conversation.Effects) {
	d.Helper()
	c.Shop = "fernhollow"
	if len(c.Owner.Addresses) == 0 {
		c.Owner.Addresses = []string{c.ID}
	}
	effects.Handovers = append(effects.Handovers, c.Open...)
	require.NoError(d, d.store.Commit(context.Background(), store.Turn{Shop: c.Shop, Now: d.clock.Now(), State: c, Effects: effects}))
}

func (d *desk) get(path string) (int, string, http.Header) {
	d.Helper()
	answer, err := d.browser.Get(d.server.URL + path)
	require.NoError(d, err)
	return read(d, answer)
}

func (d *desk) post(path string, form url.Values, headers ...string) (int, string, http.Header) {
	d.Helper()
	request, err := http.NewRequest(http.MethodPost, d.server.URL+path, strings.NewReader(form.Encode()))
	require.NoError(d, err)
	request.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	for i := 0; i+1 < len(headers); i += 2 {
		request.Header.Set(headers[i], headers[i+1])
	}
	answer, err := d.browser.Do(request)
	require.NoError(d, err)
	return read(d, answer)
}

func read(t testing.TB, answer *http.Response) (int, string, http.Header) {
	t.Helper()
	defer answer.Body.Close()
	body, err := io.ReadAll(answer.Body)
	require.NoError(t, err)
	return answer.StatusCode, string(body), answer.Header
}

// lane is the part of the board under a heading, by its id.
func lane(t testing.TB, page, id string) string {
	t.Helper()
	_, rest, ok := strings.Cut(page, `id="`+id+`-rows"`)
	require.True(t, ok, "no lane %q on the page", id)
	rows, _, _ := strings.Cut(rest, "</section>")
	return rows
}

// words is a page as a reader sees it: no markup, single spaces.
func words(page string) string {
	text := regexp.MustCompile(`<[^>]*>`).ReplaceAllString(page, " ")
	return strings.Join(strings.Fields(text), " ")
}

// soaking is an owner in the middle of the soak.
func soaking(id, name string, now time.Time) conversation.Conversation {
	return conversation.Conversation{
		ID: id, Owner: conversation.Owner{Name: name, Language: "en", TimeZone: "America/Los_Angeles"},
		Tub: conversation.Tub{VolumeUSGal: 375, VolumeBy: "owner", Sanitizer: "chlorine"},
		Service: &conversation.Service{
			ID: "s1", Flow: "flush_plumbing", State: "soak", Started: now.Add(-30 * time.Minute), Since: now.Add(-12 * time.Minute),
			Facts:  map[string]string{"drain_to": "sewer"},
			Added:  map[string]conversation.Dose{"flush_product": {Name: "flush_product", Product: "Fernhollow Line Rinse", Measure: "3 3/4 level teaspoons", At: now.Add(-12 * time.Minute)}},
			Timers: map[string]conversation.Pending{"timer:flush_plumbing/soak/soak_over": {ID: "r1", Due: now.Add(18 * time.Minute)}},
		},
		Asked:  conversation.Asked{Kind: "nothing"},
		LastIn: now.Add(-12 * time.Minute),
	}
}
