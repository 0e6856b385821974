package console_test

import (
	"context"
	"fmt"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/alexedwards/argon2id"
	"github.com/gin-gonic/gin"
	"github.com/pquerna/otp/totp"
	"github.com/stretchr/testify/require"

	"tubhand/internal/clock"
	"tubhand/internal/console"
	"tubhand/internal/shop"
	"tubhand/internal/staff"
	"tubhand/internal/store/memory"
)

const phrase = "warm cedar steps at dusk"

// guarded is two shops' consoles on one address, with a sign-in.
type guarded struct {
	*desk
	desks   map[string]*staff.Desk // by shop
	router  *gin.Engine
	secrets map[string]string // of the one-time codes, by account
	made    int
}

func newGuarded(t *testing.T, change ...func(*console.Options)) *guarded {
	t.Helper()
	gin.SetMode(gin.ReleaseMode)
	all, err := allFlows()
	require.NoError(t, err)
	d := &desk{TB: t, store: memory.New(), clock: clock.NewStill(morning), clerk: &clerk{}}
	w := &guarded{desk: d, desks: map[string]*staff.Desk{}, router: gin.New(), secrets: map[string]string{}}
	d.runner = runnerOf(d, "fernhollow", "lakeside")
	cheap := &argon2id.Params{Memory: 64, Iterations: 1, Parallelism: 1, SaltLength: 16, KeyLength: 32}
	d.server = httptest.NewServer(w.router)
	for _, key := range []string{"fernhollow", "lakeside"} {
		file := shop.Demo()
		file.Shop.Key = key
		w.desks[key], err = staff.New(staff.Config{
			Store: d.store, Shop: key, Name: file.Shop.Name, Clock: d.clock, Effort: cheap,
			Origin: strings.Replace(d.server.URL, "127.0.0.1", "localhost", 1),
		})
		require.NoError(t, err)
		o := console.Options{Shop: &file.Shop, Store: d.store, Runner: d.runner, Clock: d.clock, Flows: all, LoopbackOnly: true, Desk: w.desks[key]}
		for _, f := range change {
			f(&o)
		}
		pages, err := console.New(o)
		require.NoError(t, err)
		pages.Mount(w.router.Group("/staff/" + key))
		t.Cleanup(pages.Close)
	}
	d.fresh()
	t.Cleanup(func() {
		d.server.CloseClientConnections()
		d.server.Close()
		require.NoError(t, d.store.Close())
	})
	return w
}

// fresh gives the test a browser without cookies.
func (d *desk) fresh() {
	jar, err := cookiejar.New(nil)
	require.NoError(d, err)
	d.browser = &http.Client{Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
}

// account makes an account with a password and gives a session of it.
func (w *guarded) account(shopKey, key, name string, role staff.Role) (token string) {
	w.Helper()
	ctx := context.Background()
	link, err := w.desks[shopKey].Add(ctx, "", key, name, role)
	require.NoError(w, err)
	w.clock.Jump(16 * time.Minute) // so that no tries are counted together
	inv, err := w.desks[shopKey].Invited(ctx, link, "192.0.2.1")
	require.NoError(w, err)
	w.secrets[key] = inv.Secret
	token, _, err = w.desks[shopKey].SetPassword(ctx, staff.Choice{Code: link, Password: phrase, OneTime: w.code(key), Address: "192.0.2.1"})
	require.NoError(w, err)
	return token
}

// code is what an account's authenticator app shows.
func (w *guarded) code(key string) string {
	w.Helper()
	code, err := totp.GenerateCode(w.secrets[key], w.clock.Now())
	require.NoError(w, err)
	return code
}

// as has the browser hold a session of a shop.
func (w *guarded) as(shopKey, token string) {
	w.Helper()
	w.fresh()
	at, err := url.Parse(w.server.URL)
	require.NoError(w, err)
	w.browser.Jar.SetCookies(at, []*http.Cookie{{Name: "tubhand-" + shopKey, Value: token, Path: "/"}})
}

// turned tells whether a request was turned away for who sent it.
func turned(method string, status int, page string, header http.Header) bool {
	switch status {
	case http.StatusSeeOther:
		return method == http.MethodGet && strings.Contains(header.Get("Location"), "/sign-in")
	case http.StatusUnauthorized:
		return strings.Contains(page, "not signed in any more")
	case http.StatusForbidden:
		return strings.Contains(page, "Your role is")
	}
	return false
}

// TestEveryRouteByEveryRole asks for every address that is served, as a stranger, in each
// role, and with the session of another shop's manager.
func TestEveryRouteByEveryRole(t *testing.T) {
	w := newGuarded(t)
	w.putAda()
	seen := 0
	for _, r := range w.router.Routes() {
		path, ok := strings.CutPrefix(r.Path, "/staff/fernhollow")
		if !ok {
			continue
		}
		need, known := console.Need(r.Method, path)
		require.True(t, known, "%s %s says no role that it needs", r.Method, path)
		seen++
		for _, who := range []string{"stranger", "viewer", "staff", "manager", "other shop"} {
			may := need == ""
			switch w.fresh(); who {
			case "stranger":
			case "other shop":
				w.made++
				w.as("fernhollow", w.account("lakeside", fmt.Sprintf("m%d", w.made), "Lake Manager", staff.Manager))
			default:
				w.made++
				w.as("fernhollow", w.account("fernhollow", fmt.Sprintf("p%d", w.made), "Some Body", staff.Role(who)))
				may = may || staff.Role(who).May(need)
			}
			status, page, header := w.ask(r.Method, strings.ReplaceAll(r.Path, ":name", "board.css"))
			require.Equal(t, !may, turned(r.Method, status, page, header), "%s %s by %s: %d", r.Method, path, who, status)
			if !may {
				require.NotContains(t, page, "Ada Lindqvist", "%s %s by %s", r.Method, path, who)
			}
		}
	}
	require.Greater(t, seen, 20)
	require.Empty(t, w.clerk.events(), "none of it was a whole form")
}

// ask asks for a path without any form, and reads no further than the first of a stream.
func (w *guarded) ask(method, path string) (int, string, http.Header) {
	w.Helper()
	request, err := http.NewRequest(method, w.server.URL+path, nil)
	require.NoError(w, err)
	answer, err := w.browser.Do(request)
	require.NoError(w, err)
	if strings.Contains(answer.Header.Get("Content-Type"), "event-stream") {
		require.NoError(w, answer.Body.Close())
		return answer.StatusCode, "", answer.Header
	}
	return read(w, answer)
}

func TestNothingIsServedWithoutARole(t *testing.T) {
	_, ok := console.Need(http.MethodGet, "/nothing")
	require.False(t, ok)
	d := newDesk(t)
	status, _, _ := d.get("/staff/sign-in")
	require.Equal(t, http.StatusNotFound, status, "the demo has no sign-in")
}

func TestSignInAndOut(t *testing.T) {
	w := newGuarded(t)
	w.putAda()
	w.account("fernhollow", "robin-ek", "Robin Ek", staff.Member)
	w.clock.Jump(time.Hour)
	status, _, header := w.get("/staff/fernhollow/conversation?with=%2B15415550142")
	require.Equal(t, http.StatusSeeOther, status)
	require.Equal(t, "/staff/fernhollow/sign-in?back="+url.QueryEscape("/staff/fernhollow/conversation?with=%2B15415550142"), header.Get("Location"))
	_, page, _ := w.get(header.Get("Location"))
	require.Contains(t, page, `value="/staff/fernhollow/conversation?with=%2B15415550142"`)

	signIn := func(password string) (int, string, http.Header) {
		return w.post("/staff/fernhollow/sign-in", url.Values{
			"name": {"robin-ek"}, "password": {password}, "code": {w.code("robin-ek")}, "back": {"/staff/fernhollow/conversation?with=%2B15415550142"},
		})
	}
	status, page, header = signIn("wrong")
	require.Equal(t, http.StatusUnauthorized, status)
	require.Contains(t, page, "That did not fit")
	require.Contains(t, page, `value="robin-ek"`)
	require.Empty(t, header.Get("Set-Cookie"))
	status, _, header = signIn(phrase)
	require.Equal(t, http.StatusSeeOther, status)
	require.Equal(t, "/staff/fernhollow/conversation?with=%2B15415550142", header.Get("Location"))
	cookie := header.Get("Set-Cookie")
	for _, want := range []string{"tubhand-fernhollow=", "HttpOnly", "SameSite=Lax", "Path=/"} {
		require.Contains(t, cookie, want)
	}
	_, page, _ = w.get("/staff/fernhollow/")
	require.Contains(t, words(page), "Robin Ek Sign out")
	require.NotContains(t, page, "Accounts", "for managers")
	require.NotContains(t, page, "You are", "nobody picks a name")
	status, _, _ = w.get("/staff/fernhollow/sign-in")
	require.Equal(t, http.StatusSeeOther, status, "is signed in")

	status, _, _ = w.post("/staff/fernhollow/sign-out", nil)
	require.Equal(t, http.StatusSeeOther, status)
	status, page, _ = w.post("/staff/fernhollow/act", form("act", "reply", "text", "hello"), "Sec-Fetch-Site", "same-origin")
	require.Equal(t, http.StatusUnauthorized, status)
	require.Contains(t, page, "your words are still here")
	request, err := http.NewRequest(http.MethodGet, w.server.URL+"/staff/fernhollow/", nil)
	require.NoError(t, err)
	request.Header.Set("Sec-Fetch-Dest", "empty")
	answer, err := w.browser.Do(request)
	require.NoError(t, err)
	status, _, _ = read(t, answer)
	require.Equal(t, http.StatusUnauthorized, status, "a script is not led to another page")
}

func TestWhoActsIsWhoIsSignedIn(t *testing.T) {
	w := newGuarded(t)
	w.putCase()
	boss := w.account("fernhollow", "dana", "Dana", staff.Manager)
	w.as("fernhollow", w.account("fernhollow", "robin-ek", "Robin Ek", staff.Member))
	talk := "/staff/fernhollow/conversation?with=%2B15415550142"
	_, page, _ := w.get(talk)
	fields := fieldsOf(t, page, "claim-h1")
	fields.Set("who", "dana")
	w.browser.Jar.SetCookies(mustParse(t, w.server.URL), []*http.Cookie{{Name: "tubhand_who", Value: "dana", Path: "/"}})
	status, _, _ := w.post("/staff/fernhollow/act", fields)
	require.Equal(t, http.StatusSeeOther, status)
	require.Equal(t, "robin-ek", w.clerk.events()[0].Staff.By)
	require.Equal(t, "Robin Ek", w.clerk.events()[0].Staff.Name)
	_, page, _ = w.get(talk)
	require.Contains(t, words(page), "Robin Ek has it")

	w.as("fernhollow", boss)
	_, page, _ = w.get("/staff/fernhollow/log")
	require.Contains(t, words(page), "Robin Ek claimed a case (541) 555-0142 h1")
	require.Contains(t, page, `<a href="/staff/fernhollow/conversation?with=%2b15415550142">`)
	status, _, _ = w.get("/staff/fernhollow/log?before=x")
	require.Equal(t, http.StatusBadRequest, status)
	for range 120 {
		require.NoError(t, w.desks["fernhollow"].Note(t.Context(), "dana", "replied", "ann@owner.example", ""))
	}
	_, page, _ = w.get("/staff/fernhollow/log")
	require.Equal(t, 100, strings.Count(page, "<tr><td>"))
	_, rest, _ := strings.Cut(page, "log?before=")
	number, _, _ := strings.Cut(rest, `"`)
	_, page, _ = w.get("/staff/fernhollow/log?before=" + number)
	require.Contains(t, words(page), "Robin Ek claimed a case")
	require.NotContains(t, page, "Older")
}

func mustParse(t testing.TB, s string) *url.URL {
	u, err := url.Parse(s)
	require.NoError(t, err)
	return u
}

func TestALiveConnectionEndsWithItsSession(t *testing.T) {
	w := newGuarded(t, func(o *console.Options) { o.Beat = 20 * time.Millisecond })
	token := w.account("fernhollow", "robin-ek", "Robin Ek", staff.Viewer)
	w.as("fernhollow", token)
	answer, err := w.browser.Get(w.server.URL + "/staff/fernhollow/live")
	require.NoError(t, err)
	require.NoError(t, w.desks["fernhollow"].SignOut(t.Context(), token))
	_, page, _ := read(t, answer) // to its end
	require.Contains(t, page, "event: beat")
}

func TestTooManyTries(t *testing.T) {
	w := newGuarded(t)
	for range 10 {
		status, _, _ := w.post("/staff/fernhollow/sign-in", url.Values{"name": {"dana"}, "password": {"x"}, "code": {"1"}})
		require.Equal(t, http.StatusUnauthorized, status)
	}
	status, page, header := w.post("/staff/fernhollow/sign-in", url.Values{"name": {"dana"}, "password": {"x"}, "code": {"1"}})
	require.Equal(t, http.StatusTooManyRequests, status)
	require.Contains(t, page, "tried too often")
	require.Equal(t, "901", header.Get("Retry-After"))
}

func TestOverTLS(t *testing.T) {
	w := newGuarded(t, func(o *console.Options) { o.Secure, o.Proxied, o.LoopbackOnly = true, true, false })
	w.account("fernhollow", "dana", "Dana", staff.Manager)
	w.clock.Jump(time.Hour)
	status, _, header := w.post("/staff/fernhollow/sign-in", url.Values{"name": {"dana"}, "password": {phrase}, "code": {w.code("dana")}}, "X-Forwarded-For", "10.0.0.1, 203.0.113.7")
	require.Equal(t, http.StatusSeeOther, status)
	require.Contains(t, header.Get("Set-Cookie"), "__Host-tubhand-fernhollow=")
	require.Contains(t, header.Get("Set-Cookie"), "Secure")
	require.NotContains(t, header.Get("Set-Cookie"), "Domain")
	require.Contains(t, header.Get("Strict-Transport-Security"), "max-age=")
	trail, err := w.desks["fernhollow"].Trail(t.Context(), 0, 1)
	require.NoError(t, err)
	require.Contains(t, trail[0].Detail, "from 203.0.113.7", "what the proxy put down, not what the browser did")
}

func TestNewPagesLoadOnlyOurOwnFiles(t *testing.T) {
	w := newGuarded(t)
	link, err := w.desks["fernhollow"].Add(t.Context(), "", "luis", "Luis", staff.Member)
	require.NoError(t, err)
	w.as("fernhollow", w.account("fernhollow", "dana", "Dana", staff.Manager))
	for _, path := range []string{"me", "accounts", "log", "set-up?code=" + link} {
		status, page, header := w.get("/staff/fernhollow/" + path)
		require.Equal(t, http.StatusOK, status, path)
		require.NotContains(t, header.Get("Content-Security-Policy"), "unsafe")
		require.NotRegexp(t, `<script(?:[^>]*)>[^<]`, page, "no inline script")
		require.NotRegexp(t, `(?i)<style|\sstyle=|\son\w+=|javascript:`, page, "no inline style, no handlers")
		require.NotRegexp(t, `(?:src|href|action)="(?:https?:)?//`, page, "nothing from outside")
	}
}

// accounts posts to the accounts page.
func (w *guarded) accounts(act string, pairs ...string) (int, string) {
	w.Helper()
	fields := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		fields.Set(pairs[i], pairs[i+1])
	}
	status, page, _ := w.post("/staff/fernhollow/accounts/"+act, fields)
	return status, page
}

func TestAManagerLooksAfterAccounts(t *testing.T) {
	w := newGuarded(t)
	w.as("fernhollow", w.account("fernhollow", "dana", "Dana", staff.Manager))
	status, page := w.accounts("add", "name", "Luis", "role", "staff")
	require.Equal(t, http.StatusOK, status)
	require.Regexp(t, `id="link">http://localhost:\d+/staff/fernhollow/set-up\?code=[\w-]{43}<`, page)
	require.Contains(t, page, "<td>luis</td>", "the shop file's own key")
	status, page = w.accounts("add", "name", "Luis", "role", "staff")
	require.Equal(t, http.StatusUnprocessableEntity, status)
	require.Contains(t, page, "There is an account of that name already")
	status, _ = w.accounts("role", "key", "luis", "role", "viewer")
	require.Equal(t, http.StatusSeeOther, status)
	a, err := w.desks["fernhollow"].Account(t.Context(), "luis")
	require.NoError(t, err)
	require.Equal(t, staff.Viewer, a.Role)
	status, page = w.accounts("reset", "key", "luis")
	require.Equal(t, http.StatusOK, status)
	require.Contains(t, page, "Give this link to Luis")
	status, _ = w.accounts("remove", "key", "luis")
	require.Equal(t, http.StatusSeeOther, status)
	status, _ = w.accounts("remove", "key", "luis")
	require.Equal(t, http.StatusNotFound, status)
	status, page = w.accounts("remove", "key", "dana")
	require.Equal(t, http.StatusUnprocessableEntity, status)
	require.Contains(t, page, "the only manager")
}

func TestMyOwnPage(t *testing.T) {
	w := newGuarded(t)
	w.as("fernhollow", w.account("fernhollow", "dana", "Dana", staff.Viewer))
	_, page, _ := w.get("/staff/fernhollow/me")
	require.Contains(t, words(page), "You have a password, and 10 recovery codes are left.")
	status, _, header := w.post("/staff/fernhollow/me/renew", nil)
	require.Equal(t, http.StatusSeeOther, status)
	link := header.Get("Location")
	w.clock.Jump(time.Minute)
	_, page, _ = w.get(link)
	require.Contains(t, page, "Welcome, Dana")
	_, code, _ := strings.Cut(link, "code=")
	inv, err := w.desks["fernhollow"].Invited(t.Context(), code, "192.0.2.1")
	require.NoError(t, err)
	w.secrets["dana"] = inv.Secret
	fields := url.Values{"code": {code}, "password": {"another phrase of mine"}, "again": {"another phrase"}, "onetime": {w.code("dana")}}
	status, page, _ = w.post("/staff/fernhollow/set-up", fields)
	require.Equal(t, http.StatusUnprocessableEntity, status)
	require.Contains(t, page, "not the same")
	fields.Set("again", "another phrase of mine")
	fields.Set("onetime", "000000")
	status, page, _ = w.post("/staff/fernhollow/set-up", fields)
	require.Equal(t, http.StatusUnprocessableEntity, status)
	require.Contains(t, page, "not the one that the app should show")
	fields.Set("onetime", w.code("dana"))
	status, page, _ = w.post("/staff/fernhollow/set-up", fields)
	require.Equal(t, http.StatusOK, status)
	require.Equal(t, 10, strings.Count(page, "<li>"))
	status, _, _ = w.post("/staff/fernhollow/set-up", fields)
	require.Equal(t, http.StatusGone, status)

	w.clock.Jump(staff.Fresh)
	status, page, _ = w.post("/staff/fernhollow/me/renew", nil)
	require.Equal(t, http.StatusUnprocessableEntity, status)
	require.Contains(t, page, "Sign out and in again first")
	status, _, _ = w.post("/staff/fernhollow/me/everywhere", nil)
	require.Equal(t, http.StatusSeeOther, status)
	status, _, _ = w.get("/staff/fernhollow/me")
	require.Equal(t, http.StatusSeeOther, status)
}

func TestScriptsOfPasskeysAreAnsweredInJSON(t *testing.T) {
	w := newGuarded(t)
	for _, path := range []string{"sign-in/answer", "set-up/ask", "set-up/answer"} {
		status, page, header := w.post("/staff/fernhollow/"+path, url.Values{"not": {"JSON"}})
		require.Contains(t, header.Get("Content-Type"), "application/json", path)
		require.Equal(t, http.StatusBadRequest, status, path)
		require.Contains(t, page, "problem", path)
	}
	status, page, _ := w.post("/staff/fernhollow/sign-in/ask", nil)
	require.Equal(t, http.StatusOK, status)
	require.Contains(t, page, `"challenge"`)
	request, err := http.NewRequest(http.MethodPost, w.server.URL+"/staff/fernhollow/sign-in/answer", strings.NewReader(`{"ticket":"x","answer":{}}`))
	require.NoError(t, err)
	answer, err := w.browser.Do(request)
	require.NoError(t, err)
	status, page, _ = read(t, answer)
	require.Equal(t, http.StatusUnauthorized, status)
	require.Contains(t, page, "does not open")
}
