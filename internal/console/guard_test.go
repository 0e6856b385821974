package console_test

import (
	"net/http"
	"net/http/httptest"
	"regexp"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/console"
)

func TestPagesLoadOnlyOurOwnFiles(t *testing.T) {
	d := newDesk(t)
	d.putAda()
	for _, path := range []string{"/staff/", ada, "/staff/conversation?with=nobody"} {
		_, page, header := d.get(path)
		policy := header.Get("Content-Security-Policy")
		require.Contains(t, policy, "default-src 'none'")
		require.NotContains(t, policy, "unsafe")
		require.NotContains(t, policy, "*")
		require.Contains(t, policy, "frame-ancestors 'none'")
		require.Equal(t, "nosniff", header.Get("X-Content-Type-Options"))
		require.Equal(t, "no-store", header.Get("Cache-Control"))
		require.NotRegexp(t, `<script(?:[^>]*)>[^<]`, page, "no inline script")
		require.NotRegexp(t, `(?i)<style|\sstyle=|\son\w+=|javascript:`, page, "no inline style, no handlers")
		require.NotRegexp(t, `(?:src|href|action)="(?:https?:)?//`, page, "nothing from outside")
	}
}

func TestAssetsAreKeptByTheirMark(t *testing.T) {
	d := newDesk(t)
	_, page, _ := d.get("/staff/")
	links := regexp.MustCompile(`(?:href|src)="(/staff/assets/[^"]+)"`).FindAllStringSubmatch(page, -1)
	require.GreaterOrEqual(t, len(links), 3)
	for _, link := range links {
		status, body, header := d.get(link[1])
		require.Equal(t, http.StatusOK, status)
		require.NotEmpty(t, body)
		require.Contains(t, header.Get("Cache-Control"), "immutable")
		require.NotRegexp(t, `(?:url\(|@import|fetch\("|href=)"?(?:https?:)?//`, body, "nothing from outside")
	}
	_, _, header := d.get("/staff/assets/live.js")
	require.Equal(t, "text/javascript; charset=utf-8", header.Get("Content-Type"))
	require.Equal(t, "no-store", header.Get("Cache-Control"), "without its mark a file may change")
	status, _, _ := d.get("/staff/assets/nothing.js")
	require.Equal(t, http.StatusNotFound, status)
}

func TestChangesFromOtherSitesAreRefused(t *testing.T) {
	d := newDesk(t)
	d.putAda()
	for _, headers := range [][]string{
		{"Sec-Fetch-Site", "cross-site"}, {"Sec-Fetch-Site", "same-site"}, {"Origin", "https://evil.example"},
	} {
		for _, path := range []string{"/staff/act", "/staff/who"} {
			status, page, _ := d.post(path, form("act", "reply", "text", "hello", "who", "luis"), headers...)
			require.Equal(t, http.StatusForbidden, status)
			require.Contains(t, page, "another site")
		}
	}
	require.Empty(t, d.clerk.events())
	status, _, _ := d.post("/staff/act", form("act", "reply", "text", "hello"), "Sec-Fetch-Site", "same-origin", "Origin", d.server.URL)
	require.Equal(t, http.StatusSeeOther, status)
	status, _, _ = d.get("/staff/act?act=reply&text=hello&conversation=%2B15415550142&token=" + token)
	require.Equal(t, http.StatusNotFound, status, "a link changes nothing")
}

func TestOnlyThisMachine(t *testing.T) {
	d := newDesk(t)
	for host, want := range map[string]int{
		"127.0.0.1:8025": 200, "localhost:8025": 200, "[::1]:8025": 200, "LOCALHOST": 200,
		"evil.example": 403, "shop.example:8025": 403, "192.168.1.4": 403, "": 403, "127.0.0.1.evil.example": 403,
	} {
		request, err := http.NewRequest(http.MethodGet, d.server.URL+"/staff/", nil)
		require.NoError(t, err)
		request.Host = host
		if host == "" {
			request.Host = "0.0.0.0"
		}
		answer, err := d.browser.Do(request)
		require.NoError(t, err)
		status, page, _ := read(t, answer)
		require.Equal(t, want, status, "host %q", host)
		if want == http.StatusForbidden {
			require.NotContains(t, page, "Needs a person")
		}
	}
}

func TestWhatAProxyPassesOnIsNotFromThisMachine(t *testing.T) {
	for _, mark := range []string{"Forwarded", "X-Forwarded-For", "X-Forwarded-Host", "X-Real-IP", "Via"} {
		request := httptest.NewRequest(http.MethodGet, "http://127.0.0.1/staff/", nil)
		request.RemoteAddr = "127.0.0.1:41000"
		require.True(t, console.ThisMachine(request))
		request.Header.Set(mark, "203.0.113.7")
		require.False(t, console.ThisMachine(request), mark)
	}
}

func TestFramedByItsOwnOrigin(t *testing.T) {
	d := newDesk(t, func(o *console.Options) { o.Framed = true; o.LoopbackOnly = false })
	_, _, header := d.get("/staff/")
	require.Contains(t, header.Get("Content-Security-Policy"), "frame-ancestors 'self'")
	require.Equal(t, "SAMEORIGIN", header.Get("X-Frame-Options"))
}

func TestNewSaysWhatIsMissing(t *testing.T) {
	_, err := console.New(console.Options{})
	require.ErrorContains(t, err, "are required")
}
