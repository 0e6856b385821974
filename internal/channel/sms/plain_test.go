package sms_test

import (
	"context"
	"encoding/json"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/channel/sms"
	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/shop"
	"tubhand/internal/store"
)

var outbound = conversation.Line{ID: owner + ".7", From: line, To: owner, Text: "Jets off. \"Gloves\" on & wipe <now>"}

// plainTo makes a sender to a plain gateway at an address.
func plainTo(t *testing.T, url string, c clock.Clock) *sms.Sender {
	t.Helper()
	g, ok := shop.Demo().Gateway("plain")
	require.True(t, ok)
	g.Web.Send.URL = url
	s, err := sms.NewSender(g, shop.Vault{}, nil, c, slog.New(slog.DiscardHandler))
	require.NoError(t, err)
	return s
}

// send tries once at a gateway that answers with handle.
func send(t *testing.T, handle http.HandlerFunc) store.Result {
	t.Helper()
	srv := httptest.NewServer(handle)
	t.Cleanup(srv.Close)
	return plainTo(t, srv.URL+"/out", clock.NewStill(noon)).Send(t.Context(), "fernhollow", outbound)
}

func TestPlainPostsTheMessageWithItsKey(t *testing.T) {
	got := map[string]string{}
	var head http.Header
	out := send(t, func(w http.ResponseWriter, r *http.Request) {
		head = r.Header
		if r.Method != http.MethodPost || json.NewDecoder(r.Body).Decode(&got) != nil {
			w.WriteHeader(400)
		}
	})
	require.Equal(t, store.Result{Kind: store.Sent}, out)
	require.Equal(t, map[string]string{"from": line, "to": owner, "body": outbound.Text, "key": "fernhollow/" + owner + ".7"}, got)
	require.Equal(t, got["key"], head.Get("Idempotency-Key"))
	require.Equal(t, "application/json", head.Get("Content-Type"))
}

func TestPlainReadsTheAnswer(t *testing.T) {
	for _, c := range []struct {
		status int
		after  string
		want   store.Result
	}{
		{200, "", store.Result{Kind: store.Sent}},
		{202, "", store.Result{Kind: store.Sent}},
		{204, "", store.Result{Kind: store.Sent}},
		{301, "", store.Result{Kind: store.Failed, Why: "the gateway answered 301"}},
		{400, "", store.Result{Kind: store.Failed, Why: "the gateway answered 400"}},
		{401, "3", store.Result{Kind: store.Failed, Why: "the gateway answered 401"}},
		{408, "", store.Result{Kind: store.Retry, Why: "the gateway answered 408"}},
		{429, "17", store.Result{Kind: store.Retry, Why: "the gateway answered 429", Next: noon.Add(17 * time.Second)}},
		{500, "", store.Result{Kind: store.Retry, Why: "the gateway answered 500"}},
		{503, "Sat, 13 Jun 2026 12:01:00 GMT", store.Result{Kind: store.Retry, Why: "the gateway answered 503", Next: noon.Add(time.Minute)}},
		{503, "Sat, 13 Jun 2026 11:00:00 GMT", store.Result{Kind: store.Retry, Why: "the gateway answered 503"}},
		{503, "soon", store.Result{Kind: store.Retry, Why: "the gateway answered 503"}},
		{503, "999999999", store.Result{Kind: store.Retry, Why: "the gateway answered 503", Next: noon.Add(24 * time.Hour)}},
	} {
		got := send(t, func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Retry-After", c.after)
			w.Header().Set("Location", "/elsewhere")
			w.WriteHeader(c.status)
		})
		require.Equal(t, c.want, got, "%d %s", c.status, c.after)
	}
}

func TestPlainTriesAgainWhenNobodyAnswers(t *testing.T) {
	none := store.Result{Kind: store.Retry, Why: "no answer from the gateway"}
	require.Equal(t, none, send(t, func(http.ResponseWriter, *http.Request) { panic(http.ErrAbortHandler) }))

	gone := httptest.NewServer(http.NotFoundHandler())
	gone.Close()
	require.Equal(t, none, plainTo(t, gone.URL, clock.System()).Send(t.Context(), "k", outbound))

	ended, end := context.WithCancel(t.Context())
	end()
	require.Equal(t, none, plainTo(t, gone.URL, clock.System()).Send(ended, "k", outbound))
	require.Equal(t, store.Failed, plainTo(t, "http://[", clock.System()).Send(t.Context(), "k", outbound).Kind)
}
