package main

import (
	"bufio"
	"context"
	"encoding/json"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

const owner = "+15415550142"

// outbound is a message as a gateway gets it.
type outbound struct{ From, To, Body, Key string }

// gateway is the far side: it takes outbound messages.
type gateway struct {
	url string
	got chan outbound
}

func newGateway(t *testing.T) *gateway {
	t.Helper()
	g := &gateway{got: make(chan outbound, 1000)}
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		var m outbound
		if json.NewDecoder(r.Body).Decode(&m) != nil || m.Key != r.Header.Get("Idempotency-Key") {
			w.WriteHeader(400)
			return
		}
		g.got <- m
	}))
	t.Cleanup(srv.Close)
	g.url = srv.URL + "/out"
	return g
}

// next waits for the next outbound message.
func (g *gateway) next(t *testing.T) outbound {
	t.Helper()
	select {
	case m := <-g.got:
		return m
	case <-time.After(10 * time.Second):
		t.Fatal("no message went out")
		return outbound{}
	}
}

// shopFile writes the demo shop with this gateway's address.
func shopFile(t *testing.T, sendTo string) string {
	t.Helper()
	demo, err := os.ReadFile("../../internal/shop/demo.yaml")
	require.NoError(t, err)
	text := strings.Replace(string(demo), "http://127.0.0.1:8099/out", sendTo, 1)
	require.NotEqual(t, string(demo), text)
	file := filepath.Join(t.TempDir(), "shop.yaml")
	require.NoError(t, os.WriteFile(file, []byte(text), 0o600))
	return file
}

// served is a server that runs in the test.
type served struct {
	url   string
	staff chan string // the address of the staff pages, once told
	stop  func() int
}

// serveOn starts the whole program on a port of its own.
func serveOn(t *testing.T, args ...string) *served {
	t.Helper()
	ctx, end := context.WithCancel(t.Context())
	out, in := io.Pipe()
	code := make(chan int, 1)
	args = append([]string{"serve", "--listen", "127.0.0.1:0"}, args...)
	go func() {
		code <- run(ctx, args, strings.NewReader(""), in, io.Discard, func(string) string { return "" })
		in.Close()
	}()
	lines := bufio.NewReader(out)
	said, err := lines.ReadString('\n')
	require.NoError(t, err)
	at, ok := strings.CutPrefix(strings.TrimSpace(said), "listening on ")
	require.True(t, ok, said)
	staff := make(chan string, 1)
	go func() {
		line, _ := lines.ReadString('\n') // nothing more where there are no staff pages
		_, at, _ := strings.Cut(strings.TrimSpace(line), " on ")
		staff <- at
	}()
	s := &served{url: at, staff: staff, stop: func() int { end(); c := <-code; code <- c; return c }}
	t.Cleanup(func() { s.stop() })
	return s
}

func (s *served) get(t *testing.T, path string) (int, string) {
	t.Helper()
	resp, err := http.Get(s.url + path)
	require.NoError(t, err)
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	require.NoError(t, err)
	return resp.StatusCode, string(body)
}

func (s *served) text(t *testing.T, from, id, body string) int {
	t.Helper()
	resp, err := http.PostForm(s.url+"/in/sms/plain", url.Values{"from": {from}, "to": {"+15415550100"}, "body": {body}, "id": {id}})
	require.NoError(t, err)
	defer resp.Body.Close()
	return resp.StatusCode
}

func TestServeAnswersAnOwner(t *testing.T) {
	far := newGateway(t)
	s := serveOn(t, "--shop", shopFile(t, far.url), "--data", t.TempDir())
	require.Equal(t, 204, s.text(t, owner, "m1", "hi, need to flush my pipes"))
	first := far.next(t)
	require.Equal(t, owner, first.To)
	require.Equal(t, "+15415550100", first.From)
	require.Contains(t, first.Body, "gallons")
	require.Equal(t, 204, s.text(t, owner, "m1", "hi, need to flush my pipes"), "repeated")
	require.Equal(t, 204, s.text(t, owner, "m2", "375"))
	second := far.next(t)
	require.NotEqual(t, first.Key, second.Key)

	code, body := s.get(t, "/readyz")
	require.Equal(t, 200, code)
	require.Equal(t, "ready\n", body)
	code, _ = s.get(t, "/healthz")
	require.Equal(t, 200, code)
	require.Equal(t, 0, tubhand(t, "health", "--url", s.url+"/readyz").code)
	require.Equal(t, 1, tubhand(t, "health", "--url", s.url+"/nothing").code)

	_, metrics := s.get(t, "/metrics")
	require.Contains(t, metrics, `tubhand_turns_total{kind="text_in",outcome="committed"} 2`)
	require.Contains(t, metrics, `tubhand_turns_total{kind="text_in",outcome="duplicate"} 1`)
	require.Contains(t, metrics, `tubhand_callbacks_total{answer="204"} 3`)
	require.Contains(t, metrics, `tubhand_conversations{shop="fernhollow"} 1`)
	require.NotContains(t, metrics, "5415550142")

	code, _ = s.get(t, "/staff/fernhollow/")
	require.Equal(t, 404, code, "staff pages are never where gateways post to")
	require.Equal(t, 0, s.stop())
}

func TestServeCallsStaffAndTakesTheirAnswer(t *testing.T) {
	far := newGateway(t)
	s := serveOn(t, "--shop", shopFile(t, far.url), "--data", t.TempDir())
	require.Equal(t, 204, s.text(t, owner, "m1", "my son swallowed chlorine granules"))
	byTo := map[string]outbound{}
	for range 3 { // the owner, and everyone on call
		m := far.next(t)
		byTo[m.To] = m
	}
	require.Contains(t, byTo[owner].Body, "911")
	page := byTo["+15415550111"].Body
	require.Contains(t, page, "EMERGENCY")
	code, _, _ := strings.Cut(page, ":")
	require.Equal(t, 204, s.text(t, "+15415550111", "m2", strings.ToLower(code)+" on it"))
	told := map[string]string{}
	for range 3 { // the owner hears who comes, both on call hear whose it is
		m := far.next(t)
		told[m.To] = m.Body
	}
	require.Contains(t, told["+15415550111"], "is yours")
	require.Contains(t, told["+15415550112"], "Dana")
}

func TestServeKeepsWhatItKnows(t *testing.T) {
	far := newGateway(t)
	file, data := shopFile(t, far.url), t.TempDir()
	s := serveOn(t, "--shop", file, "--data", data)
	require.Equal(t, 204, s.text(t, owner, "m1", "hi, need to flush my pipes"))
	far.next(t)
	require.Equal(t, 0, s.stop())

	s = serveOn(t, "--shop", file, "--data", data)
	require.Equal(t, 204, s.text(t, owner, "m1", "hi, need to flush my pipes"), "answered alike, but not again")
	require.Equal(t, 204, s.text(t, owner, "m2", "375 gallons"))
	require.NotContains(t, far.next(t).Body, "How many gallons")
	busy := tubhand(t, "serve", "--shop", file, "--data", data, "--listen", "127.0.0.1:0")
	require.Equal(t, 1, busy.code)
	require.Contains(t, busy.err, "another tubhand serves from this file")
}

func TestServeAnswersPlainlyWhatItDoesNotServe(t *testing.T) {
	s := serveOn(t, "--shop", shopFile(t, "http://127.0.0.1:9/out"), "--data", t.TempDir())
	code, _ := s.get(t, "/nothing")
	require.Equal(t, 404, code)
	code, _ = s.get(t, "/in/sms/plain")
	require.Equal(t, 405, code)
}

func TestServeShutsDownWhileOneHangs(t *testing.T) {
	s := serveOn(t, "--shop", shopFile(t, "http://127.0.0.1:9/out"), "--data", t.TempDir())
	hung, err := net.Dial("tcp", strings.TrimPrefix(s.url, "http://")) // says nothing
	require.NoError(t, err)
	defer hung.Close()
	require.Equal(t, 204, s.text(t, owner, "m1", "hi"))
	began := time.Now()
	require.Equal(t, 0, s.stop())
	require.Less(t, time.Since(began), 8*time.Second)
}

func TestStaffPagesHaveAnAddressOfTheirOwn(t *testing.T) {
	s := serveOn(t, "--shop", shopFile(t, "http://127.0.0.1:9/out"), "--data", t.TempDir(), "--console", "127.0.0.1:0")
	at := <-s.staff
	require.NotEmpty(t, at)
	require.NotEqual(t, s.url, at)
	ask := func(change func(*http.Request)) (int, string) {
		req, err := http.NewRequest("GET", at+"/staff/fernhollow/", nil)
		require.NoError(t, err)
		change(req)
		resp, err := http.DefaultClient.Do(req)
		require.NoError(t, err)
		defer resp.Body.Close()
		body, err := io.ReadAll(resp.Body)
		require.NoError(t, err)
		return resp.StatusCode, string(body)
	}
	code, page := ask(func(*http.Request) {})
	require.Equal(t, 200, code)
	require.Contains(t, page, "Fernhollow Tub Supply")
	code, _ = ask(func(r *http.Request) { r.Host = "tubhand.example" })
	require.Equal(t, 403, code, "the console answers this machine alone")
	code, _ = ask(func(r *http.Request) { r.Header.Set("X-Forwarded-For", "203.0.113.7") })
	require.Equal(t, 403, code, "what a proxy passes on is not this machine")
	require.Equal(t, 0, s.stop())
}

func TestStaffPagesAreRefusedToTheNetwork(t *testing.T) {
	file := shopFile(t, "http://127.0.0.1:9/out")
	for _, address := range []string{":8081", "0.0.0.0:8081", "192.0.2.1:8081", "localhost:8081", "8081"} {
		r := tubhand(t, "serve", "--shop", file, "--data", t.TempDir(), "--listen", "127.0.0.1:0", "--console", address)
		require.Equal(t, 1, r.code, address)
		require.Contains(t, r.err, "127.0.0.1:8081", address)
	}
}
