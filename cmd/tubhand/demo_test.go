package main

import (
	"bytes"
	"context"
	"html"
	"io"
	"net/http"
	"net/url"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// runningDemo is `tubhand demo` on a free port, as a newcomer has it.
type runningDemo struct {
	*testing.T
	url string
}

// awaited collects what a command prints and tells when a line came.
type awaited struct {
	mu    sync.Mutex
	text  bytes.Buffer
	lines chan string
}

func (a *awaited) Write(p []byte) (int, error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.text.Write(p)
	for line := range strings.Lines(string(p)) {
		select {
		case a.lines <- strings.TrimSpace(line):
		default:
		}
	}
	return len(p), nil
}

// startDemo runs the demo until the test ends, and holds that it then leaves nothing.
func startDemo(t *testing.T) *runningDemo {
	t.Helper()
	folder := t.TempDir()
	t.Setenv("TMPDIR", folder)
	ctx, end := context.WithCancel(context.Background())
	out, problems := &awaited{lines: make(chan string, 8)}, &awaited{lines: make(chan string, 8)}
	ended := make(chan int, 1)
	go func() { ended <- runDemo(ctx, []string{"--listen", "127.0.0.1:0"}, out, problems) }()
	t.Cleanup(func() {
		end()
		require.Equal(t, 0, <-ended)
		require.Empty(t, problems.text.String())
		left, err := filepath.Glob(filepath.Join(folder, "tubhand-*"))
		require.NoError(t, err)
		require.Empty(t, left, "the demo forgets everything")
	})
	select {
	case line := <-out.lines:
		at := regexp.MustCompile(`http://127\.0\.0\.1:\d+/`).FindString(line)
		require.NotEmpty(t, at, "the first line tells where to look: %q", line)
		return &runningDemo{t, strings.TrimSuffix(at, "/")}
	case code := <-ended:
		ended <- code
		require.FailNow(t, "the demo ended", "status %d: %s", code, problems.text.String())
	case <-time.After(time.Minute):
		require.FailNow(t, "the demo did not start")
	}
	return nil
}

func (d *runningDemo) read(answer *http.Response, err error) (int, string) {
	d.Helper()
	require.NoError(d, err)
	defer answer.Body.Close()
	body, err := io.ReadAll(answer.Body)
	require.NoError(d, err)
	return answer.StatusCode, html.UnescapeString(string(body))
}

func (d *runningDemo) get(path string) string {
	d.Helper()
	status, page := d.read(http.Get(d.url + path))
	require.Equal(d, http.StatusOK, status)
	return page
}

// post sends a form and reads the page that it leads to.
func (d *runningDemo) post(path string, pairs ...string) (int, string) {
	d.Helper()
	form := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		form.Set(pairs[i], pairs[i+1])
	}
	return d.read(http.PostForm(d.url+path, form))
}

// shows holds that a page has these words, and prints what a reader sees if not.
func shows(t testing.TB, page, words string) {
	t.Helper()
	if !strings.Contains(page, words) {
		seen := regexp.MustCompile(`<[^>]*>`).ReplaceAllString(page, " ")
		require.FailNow(t, "not on the page: "+words, "it shows: %s", strings.Join(strings.Fields(seen), " "))
	}
}

// valueIn finds the value after a piece of a page's markup.
func valueIn(t testing.TB, page, after string) string {
	t.Helper()
	_, rest, ok := strings.Cut(page, after)
	require.True(t, ok, "no %q on the page", after)
	_, rest, _ = strings.Cut(rest, `value="`)
	value, _, _ := strings.Cut(rest, `"`)
	return value
}

const (
	adaOnPhone   = "/?owner=%2B15415550142"
	juneOnPhone  = "/?owner=%2B15415550144"
	juneForStaff = "/staff/conversation?with=%2B15415550144"
	oneToken     = "AAAABBBBCCCCDDDD"
)

func TestDemoFromFirstTextToReply(t *testing.T) {
	d := startDemo(t)
	began := time.Now()
	status, page := d.post("/phone/text", "owner", "+15415550150", "token", oneToken, "text", "hi, need to flush my pipes", "language", "en")
	took := time.Since(began)
	require.Equal(t, http.StatusOK, status)
	shows(t, page, "How many gallons")
	t.Logf("the first reply took %s", took)
	require.Less(t, took, 5*time.Second, "a second is the aim; a busy machine gets some leave")
	shows(t, d.get("/staff/"), "(541) 555-0150")
}

func TestDemoJumpsToTheNudge(t *testing.T) {
	d := startDemo(t)
	page := d.get(adaOnPhone)
	require.NotContains(t, page, "Time! Jets OFF")
	status, page := d.post("/phone/jump", "owner", "+15415550142", "to", valueIn(t, page, `<button name="to"`))
	require.Equal(t, http.StatusOK, status)
	shows(t, page, "Time! Jets OFF")
	require.Regexp(t, `(?s)id="service-\+15415550142".*Wiping`, d.get("/staff/"), "the board has moved on with her")
}

func TestDemoStaffClaimAndReply(t *testing.T) {
	d := startDemo(t)
	page := d.get(juneForStaff)
	shows(t, page, "nobody has it")
	handover := valueIn(t, page, `name="handover"`)
	for range 2 { // a double click
		status, page := d.post("/staff/act", "conversation", "+15415550144", "token", oneToken, "act", "claim", "handover", handover)
		require.Equal(t, http.StatusOK, status)
		shows(t, page, "Dana has it since")
	}
	status, page := d.post("/staff/act", "conversation", "+15415550144", "token", oneToken+"2", "act", "reply", "text", "Dana here. Leave the cover open until noon.")
	require.Equal(t, http.StatusOK, status)
	shows(t, page, "Dana here.")

	phone := d.get(juneOnPhone)
	require.Equal(t, 1, strings.Count(phone, "Dana from Fernhollow Tub Supply is on it"), "claimed twice, told once")
	require.Equal(t, 1, strings.Count(phone, "Dana here. Leave the cover open until noon."))

	status, _ = d.post("/staff/act", "conversation", "+15415550144", "token", oneToken+"3", "act", "close", "handover", handover, "text", "waits for noon")
	require.Equal(t, http.StatusOK, status)
	shows(t, d.get(juneOnPhone), "Dana has closed this one")
	shows(t, d.get("/staff/"), "Nobody needs a person right now.")
}

func TestDemoIsForThisMachineAndItsOwnPages(t *testing.T) {
	d := startDemo(t)
	for _, path := range []string{"/", "/staff/", juneForStaff, "/demo/phone.css"} {
		answer, err := http.Get(d.url + path)
		require.NoError(t, err)
		policy := answer.Header.Get("Content-Security-Policy")
		status, page := d.read(answer, nil)
		require.Equal(t, http.StatusOK, status)
		require.Contains(t, policy, "default-src 'none'")
		require.NotContains(t, policy, "unsafe")
		require.Contains(t, policy, "frame-src 'self'")
		require.NotRegexp(t, `(?i)<style|\sstyle=|\son\w+=|<script>`, page)

		request, err := http.NewRequest(http.MethodGet, d.url+path, nil)
		require.NoError(t, err)
		request.Host = "rebound.example"
		status, _ = d.read(http.DefaultClient.Do(request))
		require.Equal(t, http.StatusForbidden, status)
	}
	for _, path := range []string{"/phone/text", "/phone/jump", "/phone/new", "/staff/act"} {
		request, err := http.NewRequest(http.MethodPost, d.url+path, strings.NewReader("owner=%2B15415550142&text=hi&token="+oneToken))
		require.NoError(t, err)
		request.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		request.Header.Set("Origin", "https://elsewhere.example")
		status, _ := d.read(http.DefaultClient.Do(request))
		require.Equal(t, http.StatusForbidden, status, path)
	}
}

func TestDemoWrongUsage(t *testing.T) {
	var out, problems bytes.Buffer
	require.Equal(t, 2, runDemo(t.Context(), []string{"--what"}, &out, &problems))
	require.Equal(t, 2, runDemo(t.Context(), []string{"surplus"}, &out, &problems))
	require.Equal(t, 0, runDemo(t.Context(), []string{"-h"}, &out, &problems))
	problems.Reset()
	require.Equal(t, 1, runDemo(t.Context(), []string{"--listen", "127.0.0.1:notaport"}, &out, &problems))
	require.Contains(t, problems.String(), "choose another address with --listen")
	require.Empty(t, out.String())
}
