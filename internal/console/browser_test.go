package console_test

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"os/exec"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/gin-gonic/gin"
	"github.com/stretchr/testify/require"

	"tubhand/internal/clock"
	"tubhand/internal/console"
	"tubhand/internal/conversation"
	"tubhand/internal/shop"
	"tubhand/internal/store"
	"tubhand/internal/store/memory"
	"tubhand/internal/turn"
	"tubhand/internal/wording"
	"tubhand/templates"
)

// counter is a console with the real turns on a real address, whose server can be cut off
// and started again, as when a machine restarts or a phone leaves the shop's Wi-Fi.
type counter struct {
	testing.TB
	url     string
	store   store.Store
	clock   *clock.Jumping
	runner  *turn.Runner
	handler http.Handler
	address string
	mu      sync.Mutex
	server  *http.Server
	deaf    bool // acts are done, and their answers get lost
}

func newCounter(t testing.TB) *counter {
	t.Helper()
	gin.SetMode(gin.ReleaseMode)
	all, err := allFlows()
	require.NoError(t, err)
	words, err := wording.Load(templates.FS)
	require.NoError(t, err)
	file := shop.Demo()
	world, err := conversation.NewWorld(file.Shop, all, words)
	require.NoError(t, err)
	k := &counter{TB: t, store: memory.New(), clock: clock.NewStill(morning), address: "127.0.0.1:0"}
	k.runner = turn.New(turn.Config{Store: k.store, Shops: map[string]turn.Decider{file.Shop.Key: world}, Clock: k.clock, Log: slog.New(slog.DiscardHandler)})
	pages, err := console.New(console.Options{Shop: &file.Shop, Store: k.store, Runner: k.runner, Clock: k.clock, Flows: all, LoopbackOnly: true})
	require.NoError(t, err)
	router := gin.New()
	router.Use(k.lose)
	pages.Mount(router.Group("/staff"))
	k.handler = router
	k.start()
	t.Cleanup(func() { pages.Close(); k.cut(); require.NoError(t, k.store.Close()) })
	return k
}

// lose does what is asked and then breaks the connection, where that is called for.
func (k *counter) lose(g *gin.Context) {
	k.mu.Lock()
	deaf := k.deaf && g.Request.Method == http.MethodPost && g.FullPath() == "/staff/act"
	k.mu.Unlock()
	if !deaf {
		return
	}
	real := g.Writer
	g.Writer = &silent{real}
	g.Next()
	g.Writer = real
	if connection, _, err := real.Hijack(); err == nil {
		_ = connection.Close()
	}
}

// lost has answers to acts get lost, or arrive again.
func (k *counter) lost(on bool) {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.deaf = on
}

// silent takes an answer and sends none of it.
type silent struct{ gin.ResponseWriter }

func (silent) Write(p []byte) (int, error)       { return len(p), nil }
func (silent) WriteString(s string) (int, error) { return len(s), nil }
func (silent) WriteHeader(int)                   {}
func (silent) WriteHeaderNow()                   {}

func (k *counter) start() {
	k.Helper()
	listener, err := net.Listen("tcp", k.address)
	require.NoError(k, err)
	k.address = listener.Addr().String()
	k.url = "http://" + k.address + "/staff/"
	k.server = &http.Server{Handler: k.handler, ReadHeaderTimeout: time.Minute}
	go func(s *http.Server) { _ = s.Serve(listener) }(k.server)
}

func (k *counter) cut() { _ = k.server.Close() }

// hear has the owner text.
func (k *counter) hear(texts ...string) {
	k.Helper()
	for _, text := range texts {
		k.clock.Jump(time.Second)
		err := k.runner.Handle(context.Background(), "fernhollow", conversation.Event{
			ID: "in:" + text + k.clock.Now().String(), Kind: conversation.TextIn, From: "+15415550142", Text: text, TimeZone: "America/Los_Angeles", Region: "US",
		})
		require.NoError(k, err)
	}
}

// replies are the words that staff sent.
func (k *counter) replies() (said []string) {
	k.Helper()
	lines, err := k.store.View(context.Background(), "fernhollow").Transcript("+15415550142", 100)
	require.NoError(k, err)
	for _, l := range lines {
		if l.Direction == conversation.Staff {
			said = append(said, l.Text)
		}
	}
	return said
}

// tab is a page in a real browser.
type tab struct {
	testing.TB
	ctx context.Context
}

// browse starts a real browser; without one the test is skipped, but not where CI says that
// nothing may be.
func browse(t testing.TB, width, height int64) *tab {
	t.Helper()
	path, err := exec.LookPath("chromium")
	if err != nil && os.Getenv("TUBHAND_CI") != "1" {
		t.Skip("no chromium on PATH: `apt-get install chromium` brings the browser that this test drives")
	}
	require.NoError(t, err)
	ctx, end := chromedp.NewExecAllocator(context.Background(),
		chromedp.ExecPath(path), chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun, chromedp.UserDataDir(t.TempDir()),
		chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-component-update", true),
		chromedp.Flag("disable-sync", true), chromedp.Flag("disable-dev-shm-usage", true))
	ctx, endTab := chromedp.NewContext(ctx)
	ctx, endTime := context.WithTimeout(ctx, 2*time.Minute)
	t.Cleanup(func() { endTime(); endTab(); end() })
	require.NoError(t, chromedp.Do(ctx, chromedp.EmulateViewport(width, height)))
	return &tab{t, ctx}
}

// stranger is another browser beside it, with cookies of its own.
func (b *tab) stranger(width, height int64) *tab {
	b.Helper()
	ctx, end := chromedp.NewContext(b.ctx, chromedp.WithNewBrowserContext())
	b.Cleanup(end)
	require.NoError(b, chromedp.Do(ctx, chromedp.EmulateViewport(width, height)))
	return &tab{b.TB, ctx}
}

func (b *tab) open(url string) {
	b.Helper()
	require.NoError(b, chromedp.Do(b.ctx, chromedp.Navigate(url)))
}

// run evaluates a script that throws where something is wrong.
func (b *tab) run(script string) {
	b.Helper()
	_, err := chromedp.Run(b.ctx, chromedp.Evaluate[bool]("(() => {"+script+"; return true })()"))
	require.NoError(b, err, script)
}

// text evaluates to words.
func (b *tab) text(expression string) string {
	b.Helper()
	words, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](expression))
	require.NoError(b, err, expression)
	return words
}

// await waits until an expression holds; the page itself looks again and again.
func (b *tab) await(what, expression string) {
	b.Helper()
	script := fmt.Sprintf(`new Promise((answer) => {
		const late = performance.now() + 20000;
		const look = () => { let ok = false; try { ok = !!(%s) } catch {} ok || performance.now() > late ? answer(ok) : setTimeout(look, 20) };
		look() })`, expression)
	came, err := false, errors.New("not asked yet")
	for tries := 0; err != nil && tries < 10; tries++ {
		came, err = chromedp.Run(b.ctx, chromedp.Evaluate[bool](script, chromedp.EvalAwaitPromise))
	}
	require.NoError(b, err, what)
	if !came {
		require.FailNow(b, what+" never came", "the page shows:\n%s", b.text("document.body.innerText"))
	}
}

func (b *tab) live() {
	b.Helper()
	b.await("a live page", `document.documentElement.classList.contains("scripted") && document.getElementById("pulse").dataset.state === "live"`)
}

// fill types into a field by its id.
func (b *tab) fill(id, words string) {
	b.Helper()
	b.run(fmt.Sprintf(`const f = document.getElementById(%q); f.focus(); f.value = %q; f.dispatchEvent(new Event("input", { bubbles: true }))`, id, words))
}

// press sends a form by its button: "form-id", or "form-id value" of one of several.
func (b *tab) press(form, value string) {
	b.Helper()
	b.run(fmt.Sprintf(`const f = document.getElementById(%q), v = %q; const d = f.closest("details"); if (d) d.open = true; f.querySelector(v ? "button[value=" + v + "]" : "button").click()`, form, value))
}

// shows waits for words in a part of the page.
func (b *tab) shows(id, words string) {
	b.Helper()
	b.await(words, fmt.Sprintf(`document.getElementById(%q).innerText.includes(%q)`, id, words))
}
