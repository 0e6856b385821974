package demo_test

import (
	"context"
	"html"
	"io"
	"log/slog"
	"net/http"
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
	"tubhand/internal/conversation"
	"tubhand/internal/demo"
	"tubhand/internal/dispatch"
	"tubhand/internal/flow"
	"tubhand/internal/shop"
	"tubhand/internal/store"
	"tubhand/internal/store/memory"
	"tubhand/internal/turn"
	"tubhand/internal/wording"
	"tubhand/templates"
)

// arrives is a sender whose messages all arrive.
type arrives struct{}

func (arrives) Send(context.Context, string, conversation.Line) store.Result {
	return store.Result{Kind: store.Sent}
}

// world is the demo shop as turns see it, made once.
var world = sync.OnceValues(func() (*conversation.World, error) {
	all, err := flow.Load(flows.FS)
	if err != nil {
		return nil, err
	}
	words, err := wording.Load(templates.FS)
	if err != nil {
		return nil, err
	}
	return conversation.NewWorld(shop.Demo().Shop, all, words)
})

// bench is the demo's page on a socket, over a memory store and a clock that stands
// still between jumps.
type bench struct {
	testing.TB
	clock  *clock.Jumping
	store  store.Store
	page   *demo.Page
	server *httptest.Server
	zone   *time.Location
}

func newBench(t testing.TB) *bench {
	t.Helper()
	gin.SetMode(gin.ReleaseMode)
	w, err := world()
	require.NoError(t, err)
	zone, err := time.LoadLocation(w.Shop().TimeZone)
	require.NoError(t, err)
	b := &bench{TB: t, clock: clock.NewStill(demo.Opening(zone).AddDate(0, -4, 0)), store: memory.New(), zone: zone}
	log := slog.New(slog.NewTextHandler(t.Output(), nil))
	var dispatcher *dispatch.Dispatcher
	runner := turn.New(turn.Config{
		Store: b.store, Shops: map[string]turn.Decider{w.Shop().Key: w}, Clock: b.clock, Log: log,
		Committed: func(_ string, effects conversation.Effects) { dispatcher.Poke(effects) },
	})
	dispatcher = dispatch.New(dispatch.Config{
		Queue: b.store, Turns: runner, Clock: b.clock, Log: log, Random: func() float64 { return 0 },
		Sender: func(string, string) (dispatch.Sender, bool) { return arrives{}, true },
	})
	b.page, err = demo.New(demo.Options{
		Shop: w.Shop(), Store: b.store, Runner: runner, Clock: b.clock, Log: log, Gateway: "pocket", Staff: "/staff/",
		Style: "/style", Script: "/script", Icon: "/icon", Headers: func(http.Header) {},
	})
	require.NoError(t, err)
	require.NoError(t, b.page.Play(t.Context(), demo.Owners(zone), demo.Opening(zone)))
	dispatcher.Start(t.Context())
	router := gin.New()
	b.page.Mount(router)
	b.server = httptest.NewServer(router)
	t.Cleanup(func() {
		b.server.Close()
		dispatcher.Stop()
		require.NoError(t, b.store.Close())
	})
	return b
}

// conversation reads one of the demo's conversations.
func (b *bench) conversation(address string) conversation.Conversation {
	b.Helper()
	c, err := b.store.Load(context.Background(), "fernhollow", address)
	require.NoError(b, err)
	return c
}

// visit reads a page; follow sends a form as the page would and reads what comes of it.
func (b *bench) visit(path string) (int, string) {
	b.Helper()
	answer, err := http.Get(b.server.URL + path)
	require.NoError(b, err)
	return b.read(answer)
}

func (b *bench) follow(path string, pairs ...string) (int, string) {
	b.Helper()
	form := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		form.Set(pairs[i], pairs[i+1])
	}
	answer, err := http.PostForm(b.server.URL+path, form)
	require.NoError(b, err)
	return b.read(answer)
}

func (b *bench) read(answer *http.Response) (int, string) {
	b.Helper()
	defer answer.Body.Close()
	body, err := io.ReadAll(answer.Body)
	require.NoError(b, err)
	return answer.StatusCode, string(body)
}

// slips are the texts on the phone, oldest first: "You: done", "Shop: Jets on HIGH".
func slips(page string) []string {
	var out []string
	for _, m := range regexp.MustCompile(`(?s)<div class="slip( mine)?">.*?<p class="words">(.*?)</p>`).FindAllStringSubmatch(page, -1) {
		who := "Shop: "
		if m[1] != "" {
			who = "You: "
		}
		out = append(out, who+html.UnescapeString(m[2]))
	}
	return out
}

// field is the value of a button or hidden field by a piece of its markup.
func field(t testing.TB, page, after string) string {
	t.Helper()
	_, rest, ok := strings.Cut(page, after)
	require.True(t, ok, "no %q on the page", after)
	value, _, _ := strings.Cut(strings.TrimPrefix(rest, ` value="`), `"`)
	return html.UnescapeString(value)
}
