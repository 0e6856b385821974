package sms_test

import (
	"bytes"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/channel/sms"
	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/shop"
	"tubhand/internal/store"
)

// far is a gateway that answers with handle and keeps what it got.
type far struct {
	url    string
	head   []http.Header
	bodies []string
	asked  []string
}

func newFar(t *testing.T, handle http.HandlerFunc) *far {
	t.Helper()
	f := &far{}
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		body, _ := io.ReadAll(r.Body)
		f.head, f.bodies, f.asked = append(f.head, r.Header), append(f.bodies, string(body)), append(f.asked, r.Method+" "+r.URL.RequestURI())
		handle(w, r)
	}))
	t.Cleanup(srv.Close)
	f.url = srv.URL
	return f
}

func answer(status int, body string) http.HandlerFunc {
	return func(w http.ResponseWriter, _ *http.Request) {
		w.WriteHeader(status)
		_, _ = io.WriteString(w, body)
	}
}

func sender(t *testing.T, f *shop.File, receipts sms.Receipts, c clock.Clock) *sms.Sender {
	t.Helper()
	s, err := sms.NewSender(f.Gateways[0], vault, receipts, c, slog.New(slog.DiscardHandler))
	require.NoError(t, err)
	return s
}

var words = conversation.Line{ID: owner + ".7", From: cornerLine, To: owner, Text: "pH \"7.4\" & up <ok>\n50% + {to}"}

func TestAJSONRequestIsFilledIn(t *testing.T) {
	gate := newFar(t, answer(202, `{"message":{"id":"R1"}}`))
	f := reedline(t, "https://api.reedline.example", gate.url)
	got := sender(t, f, nil, clock.NewStill(noon)).Send(t.Context(), "corner", words)
	require.Equal(t, store.Result{Kind: store.Sent}, got)
	require.Equal(t, []string{"POST /v3/messages"}, gate.asked)
	require.JSONEq(t, `{"line":"+15415550121","recipients":[{"number":"+15415550142"}],"reference":"corner/+15415550142.7",
		"content":{"words":"pH \"7.4\" & up <ok>\n50% + {to}"}}`, gate.bodies[0])
	require.Equal(t, "Bearer token", gate.head[0].Get("Authorization"))
	require.Equal(t, "corner/+15415550142.7", gate.head[0].Get("Idempotency-Key"))
}

func TestAFormRequestIsFilledIn(t *testing.T) {
	gate := newFar(t, answer(200, `{"id":"G-77"}`))
	kept := papers{}
	f := described(t, strings.Replace(formGateway, `"https://api.example/send", form: {`, `"`+gate.url+`/{to_digits}?v=1", method: PUT,
      headers: {X-Ref: "{key}"}, query: {line: "{from}"}, auth: {as: field, secret: "@/s"}, form: {Pass: "{secret}", Back: "{report_url}", `, 1))
	s := sender(t, f, kept, clock.NewStill(noon))
	require.Equal(t, store.Result{Kind: store.Sent}, s.Send(t.Context(), "corner", words))
	require.Equal(t, []string{"PUT /15415550142?v=1&line=%2B15415550121"}, gate.asked)
	form, err := url.ParseQuery(gate.bodies[0])
	require.NoError(t, err)
	require.Equal(t, url.Values{"From": {cornerLine}, "To": {owner}, "Text": {words.Text}, "Pass": {"token"},
		"Back": {"https://tubs.corner.example/in/status/door"}}, form)
	require.Equal(t, "corner/"+words.ID, gate.head[0].Get("X-Ref"))
	require.Equal(t, words.ID, string(kept["corner|gateway_id|door:G-77"].Value), "a report by the gateway's id finds the line")
	require.Equal(t, noon.Add(7*24*time.Hour), kept["corner|gateway_id|door:G-77"].Expires)

	again := words
	again.ID = owner + ".8"
	require.Equal(t, store.Sent, s.Send(t.Context(), "corner", again).Kind)
	require.Equal(t, again.ID, string(kept["corner|gateway_id|door:G-77"].Value), "a gateway that begins its ids anew")
}

func TestARequestWithoutABody(t *testing.T) {
	gate := newFar(t, answer(200, ""))
	f := described(t, strings.Replace(queryGateway, "https://api.example/send", gate.url+"/send", 1))
	require.Equal(t, store.Sent, sender(t, f, nil, clock.NewStill(noon)).Send(t.Context(), "corner", words).Kind)
	require.Equal(t, "GET /send?text="+strings.ReplaceAll(url.QueryEscape(words.Text), "+", "%20")+"&to=15415550142", strings.Replace(gate.asked[0], "to=15415550142&text", "text", 1))
}

func TestAuthorization(t *testing.T) {
	for auth, want := range map[string]func(h http.Header, asked string) bool{
		"{as: basic, user: reed, secret: $S}": func(h http.Header, _ string) bool {
			user, password, ok := (&http.Request{Header: h}).BasicAuth()
			return ok && user == "reed" && password == signingKey
		},
		"{as: header, name: X-Key, secret: $S}": func(h http.Header, _ string) bool { return h.Get("X-Key") == signingKey },
		"{as: query, name: k, secret: $S}":      func(_ http.Header, asked string) bool { return strings.HasSuffix(asked, "?k="+signingKey) },
	} {
		gate := newFar(t, answer(202, ""))
		f := reedline(t, "https://api.reedline.example", gate.url, `{as: bearer, secret: "@/etc/tubhand/reedline.token"}`, auth)
		sender(t, f, nil, clock.NewStill(noon)).Send(t.Context(), "corner", words)
		require.True(t, want(gate.head[0], gate.asked[0]), auth)
	}
}

func TestWhatAnAnswerMeans(t *testing.T) {
	const rules = `
    texts: {as: form, from: From, body: Body}
    signed: {how: none}
    send:
      url: URL
      json: {to: "{to}", text: "{body}"}
      taken_when: {at: status, is: [ok, queued]}
      lost_when: {at: error, is: ["17", blocked]}
      again_when: {at: error, is: [busy]}
      auth: {as: bearer, secret: $S}
`
	for _, c := range []struct {
		status     int
		body, kind string
		why        string
	}{
		{200, `{"status":"OK"}`, store.Sent, ""},
		{200, `{"status":"queued"}`, store.Sent, ""},
		{200, `{"status":"error"}`, store.Retry, "the gateway answered 200 and does not say that it has taken it"},
		{200, `not JSON`, store.Retry, "the gateway answered 200 and does not say"},
		{200, `{"error":17}`, store.Failed, "says that it cannot arrive"},
		{500, `{"error":"Blocked"}`, store.Failed, "says that it cannot arrive"},
		{400, `{"error":"busy"}`, store.Retry, "asks to try again"},
		{400, `{"error":"other"}`, store.Failed, "the gateway answered 400"},
		{401, ``, store.Retry, "the secret under send: auth: is not the right one"},
		{403, ``, store.Failed, "the gateway answered 403"},
		{302, ``, store.Failed, "the gateway answered 302"},
		{503, ``, store.Retry, "the gateway answered 503"},
	} {
		gate := newFar(t, answer(c.status, c.body))
		got := sender(t, described(t, strings.Replace(rules, "URL", gate.url, 1)), nil, clock.NewStill(noon)).Send(t.Context(), "corner", words)
		require.Equal(t, c.kind, got.Kind, "%d %s: %s", c.status, c.body, got.Why)
		require.Contains(t, got.Why, c.why)
		require.NotContains(t, got.Why, signingKey)
	}
}

func TestAnyOther2xxIsNotTakenWhereOneIsAskedFor(t *testing.T) {
	gate := newFar(t, answer(200, ""))
	got := sender(t, reedline(t, "https://api.reedline.example", gate.url), nil, clock.NewStill(noon)).Send(t.Context(), "corner", words)
	require.Equal(t, store.Retry, got.Kind)
}

func TestRedirectsAreNotFollowed(t *testing.T) {
	other := newFar(t, answer(202, ""))
	gate := newFar(t, func(w http.ResponseWriter, r *http.Request) {
		http.Redirect(w, r, other.url, http.StatusTemporaryRedirect)
	})
	got := sender(t, reedline(t, "https://api.reedline.example", gate.url), nil, clock.NewStill(noon)).Send(t.Context(), "corner", words)
	require.Equal(t, store.Failed, got.Kind)
	require.Empty(t, other.asked, "nobody else gets the words, or the secret")
}

func TestMessagesAreSpaced(t *testing.T) {
	gate := newFar(t, answer(202, ""))
	c := clock.NewStill(noon)
	s := sender(t, reedline(t, "https://api.reedline.example", gate.url, "per_second: 10", "per_second: 2"), nil, c)
	line := func(n string) conversation.Line { l := words; l.ID = n; return l }
	require.Equal(t, store.Sent, s.Send(t.Context(), "corner", line("1")).Kind)
	second, third := s.Send(t.Context(), "corner", line("2")), s.Send(t.Context(), "corner", line("3"))
	require.Equal(t, noon.Add(500*time.Millisecond), second.Next)
	require.Equal(t, noon.Add(time.Second), third.Next)
	require.Equal(t, store.Retry, third.Kind)
	require.Equal(t, third, s.Send(t.Context(), "corner", line("3")), "its place is kept")
	require.Len(t, gate.asked, 1)
	c.Jump(time.Second)
	require.Equal(t, store.Sent, s.Send(t.Context(), "corner", line("3")).Kind)
	require.Equal(t, store.Sent, s.Send(t.Context(), "corner", line("2")).Kind)
	require.Len(t, gate.asked, 3)
}

func TestAGatewayThatIsOverrunIsLeftAlone(t *testing.T) {
	busy := true
	gate := newFar(t, func(w http.ResponseWriter, _ *http.Request) {
		if busy {
			w.Header().Set("Retry-After", "30")
			w.WriteHeader(429)
			return
		}
		w.WriteHeader(202)
	})
	c := clock.NewStill(noon)
	s := sender(t, reedline(t, "https://api.reedline.example", gate.url), nil, c)
	require.Equal(t, noon.Add(30*time.Second), s.Send(t.Context(), "corner", words).Next)
	busy = false
	other := words
	other.ID = "x"
	require.Equal(t, noon.Add(30*time.Second), s.Send(t.Context(), "corner", other).Next, "the others wait, too")
	require.Len(t, gate.asked, 1)
	c.Jump(30 * time.Second)
	require.Equal(t, store.Sent, s.Send(t.Context(), "corner", other).Kind)
}

func TestASecretThatIsNotThereIsToldAtTheStart(t *testing.T) {
	_, err := sms.NewSender(reedline(t).Gateways[0], shop.Vault{File: func(string) ([]byte, error) { return nil, io.EOF }}, nil, clock.NewStill(noon), nil)
	require.ErrorContains(t, err, `gateway "reedline": send: auth: secret`)
}

func TestTwoShopsAtOneGatewayKeepOnePace(t *testing.T) {
	gate := newFar(t, answer(202, ""))
	c := clock.NewStill(noon)
	one := sender(t, reedline(t, "https://api.reedline.example", gate.url), nil, c)
	two := sender(t, reedline(t, "https://api.reedline.example", gate.url), nil, c)
	two.SharePace(one)
	require.Equal(t, store.Sent, one.Send(t.Context(), "corner", words).Kind)
	require.Equal(t, noon.Add(100*time.Millisecond), two.Send(t.Context(), "other", words).Next)
	other := sender(t, reedline(t, "https://api.reedline.example", gate.url, "per_second: 10", "per_second: 20"), nil, c)
	other.SharePace(one)
	require.Equal(t, store.Sent, other.Send(t.Context(), "third", words).Kind, "another pace is its own")
}

func TestAMessageWhoseIdIsNotKeptIsTakenAllTheSame(t *testing.T) {
	gate := newFar(t, answer(200, `{"no":"id"}`))
	var log bytes.Buffer
	f := described(t, strings.Replace(formGateway, "https://api.example", gate.url, 1))
	s, err := sms.NewSender(f.Gateways[0], vault, papers{}, clock.NewStill(noon), slog.New(slog.NewTextHandler(&log, nil)))
	require.NoError(t, err)
	require.Equal(t, store.Result{Kind: store.Sent}, s.Send(t.Context(), "corner", words))
	require.Contains(t, log.String(), "no report can find it")
}
