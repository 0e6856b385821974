package sms_test

import (
	"bytes"
	"net/http"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/channel/sms"
	"tubhand/internal/clock"
	"tubhand/internal/shop"
)

func explainer(t testing.TB, f *shop.File) *sms.Explainer {
	t.Helper()
	e, err := sms.NewExplainer(f, f.Gateways[0].Name, vault, clock.NewStill(noon))
	require.NoError(t, err)
	return e
}

// saved reads one of the sample callbacks.
func saved(t testing.TB, name string) (*sms.Callback, time.Time) {
	t.Helper()
	raw, err := os.ReadFile("../../../testdata/gateways/" + name)
	require.NoError(t, err)
	cb, at, err := sms.ReadSaved(bytes.NewReader(raw))
	require.NoError(t, err)
	return cb, at
}

func TestSampleCallbacksAreExplained(t *testing.T) {
	e := explainer(t, reedline(t))
	for name, want := range map[string]struct {
		answer int
		says   []string
	}{
		"reedline-text.http":         {200, []string{"holds (hmac_body)", `a text from +15415550142 to +15415550121 (corner): "hi, need to flush my pipes"; a repeat is known by sms:reedline:r-1001`}},
		"reedline-several.http":      {200, []string{"came with it: a picture (image/jpeg)", "passed over", "¿cuánto falta?"}},
		"reedline-report.http":       {200, []string{`a report: message +15415550142.3 of corner is delivered ("arrived")`}},
		"reedline-wrong-secret.http": {401, []string{"does not hold: the signature is another one than ours"}},
		"reedline-old.http":          {401, []string{"1h0m0s old, and the window is 5m0s"}},
	} {
		cb, at := saved(t, name)
		made := e.Explain(cb, at)
		require.Equal(t, want.answer, made.Answer, name)
		said := made.Signature
		for _, it := range made.Items {
			said += "\n" + it.Becomes
		}
		for _, s := range want.says {
			require.Contains(t, said, s, name)
		}
		require.Empty(t, made.Try, name)
		require.Empty(t, made.Refused, name)
	}
}

// What is explained is what happens: the same samples through the real door.
func TestSampleCallbacksAreTakenAsExplained(t *testing.T) {
	f := open(t, reedline(t))
	f.states["corner/+15415550142.3"] = "sent"
	for _, name := range []string{"reedline-text.http", "reedline-several.http", "reedline-report.http", "reedline-wrong-secret.http", "reedline-old.http"} {
		cb, at := saved(t, name)
		require.True(t, at.Equal(noon))
		want := explainer(t, reedline(t)).Explain(cb, at)
		w := f.ask(cb.Method, cb.URI, string(cb.Body), "Content-Type", "application/json", "X-Reedline-Signature", cb.Header.Get("X-Reedline-Signature"))
		require.Equal(t, want.Answer, w.Code, name)
	}
	require.Len(t, f.events, 3)
	require.Equal(t, "came with it: a picture (image/jpeg)", f.events[1].Remark)
}

func TestAWrongDescriptionIsExplained(t *testing.T) {
	cb, at := saved(t, "reedline-text.http")
	for _, c := range []struct{ from, to, signature, try, refused string }{
		{"hash: sha256", "hash: sha1", "32 bytes where sha1 gives 20", "hash: sha256, written: hex", ""},
		{"within: 5m", "between: \"\"\n      within: 5m", "another secret, or something else is signed", `between: "."`, ""},
		{"each: messages[]\n      only: {type: text}", "each: events[]\n      only: {type: text}", "holds", "", "no message where"},
		{"from: sender.number", "from: sender.phone", "holds", "", "from: the number is missing"},
		{"line: (541) 555-0121", "line: (541) 555-0123", "holds", "", "to: no shop has that line here"},
	} {
		made := explainer(t, reedline(t, c.from, c.to)).Explain(cb, at)
		require.Contains(t, made.Signature, c.signature, c.to)
		require.Contains(t, made.Try, c.try, c.to)
		require.Contains(t, made.Refused, c.refused, c.to)
		require.GreaterOrEqual(t, made.Answer, 400, c.to)
	}
	wrongKind := *cb
	wrongKind.Header = cb.Header.Clone()
	wrongKind.Header.Set("Content-Type", "text/plain")
	require.Contains(t, explainer(t, reedline(t)).Explain(&wrongKind, at).Refused, "wants Content-Type application/json")
	wrongKind.URI = "/in/status/reedline"
	require.Equal(t, "reports", explainer(t, reedline(t)).Explain(&wrongKind, at).Address)
}

func TestReportsThatTellNothing(t *testing.T) {
	e := explainer(t, reedline(t))
	for body, says := range map[string]string{
		`{"messages":[{"type":"report","reference":"corner/a.1","state":"pondering"}]}`: `changes nothing: "pondering" stands under none of`,
		`{"messages":[{"type":"report","reference":"other/a.1","state":"arrived"}]}`:    "refused: the key is of a shop",
		`{"messages":[{"type":"report","state":"arrived"}]}`:                            "refused: key: is missing",
	} {
		cb := &sms.Callback{Method: "POST", URI: "/in/sms/reedline", Header: http.Header{"Content-Type": {"application/json"}}, Body: []byte(body)}
		require.Contains(t, e.Explain(cb, noon).Items[0].Becomes, says)
	}
}

func TestWhatProvesTheSenderIsMasked(t *testing.T) {
	byQuery := explainer(t, described(t, queryGateway))
	cb := &sms.Callback{Method: "GET", URI: "/in/sms/door?text=0041&token=" + signingKey + "&msisdn=1",
		Header: http.Header{"Authorization": {"Basic c2VjcmV0"}, "Cookie": {"a=b"}, "X-Sent-At": {"1"}, "Host": {"x"}}}
	safe := byQuery.Masked(cb)
	require.Equal(t, "/in/sms/door?text=0041&token=(masked)&msisdn=1", safe.URI)
	require.Equal(t, "(masked)", safe.Header.Get("Authorization"))
	require.Equal(t, "(masked)", safe.Header.Get("Cookie"))
	require.Equal(t, "Basic c2VjcmV0", cb.Header.Get("Authorization"), "the callback itself is left alone")
	shown, others := byQuery.Matters(safe.Header)
	require.Equal(t, []string{"X-Sent-At: 1"}, shown)
	require.Equal(t, []string{"Authorization", "Cookie", "Host"}, others)

	byHeader := explainer(t, described(t, strings.Replace(queryGateway, "query: token", "header: X-Key", 1)))
	cb.Header.Set("X-Key", signingKey)
	require.Equal(t, "(masked)", byHeader.Masked(cb).Header.Get("X-Key"))
}

func TestSavedCallbacksAreReadBack(t *testing.T) {
	cb := &sms.Callback{Method: "POST", URI: "/in/sms/x?a=b", Header: http.Header{"X-A": {"1", "2"}}, Body: []byte("a\r\nb\x00")}
	var b bytes.Buffer
	require.NoError(t, cb.WriteTo(&b, noon))
	b.WriteString("\n") // as an editor would
	got, at, err := sms.ReadSaved(&b)
	require.NoError(t, err)
	require.True(t, at.Equal(noon))
	require.Equal(t, cb.Body, got.Body)
	require.Equal(t, cb.URI, got.URI)
	require.Equal(t, []string{"1", "2"}, got.Header.Values("X-A"))

	got, at, err = sms.ReadSaved(strings.NewReader("POST /in/sms/x HTTP/1.1\nContent-Type: text/plain\n\nbody"))
	require.NoError(t, err)
	require.True(t, at.IsZero())
	require.Equal(t, "body", string(got.Body))
	for text, why := range map[string]string{
		"":                             "line 1 is no request",
		"hello":                        "line 1 is no request",
		"POST x HTTP/1.1\n\n":          "line 1 is no request",
		"POST /x HTTP/1.1\nno colon\n": "write each as Name: value",
		"POST /x HTTP/1.1\nTubhand-Received: noon\n\n": `"noon" is no time`,
		strings.Repeat("x", 200<<10):                   "more than",
	} {
		_, _, err := sms.ReadSaved(strings.NewReader(text))
		require.ErrorContains(t, err, why)
	}
}

func TestAnExplainerWantsAGatewayOverHTTP(t *testing.T) {
	_, err := sms.NewExplainer(reedline(t), "other", vault, clock.NewStill(noon))
	require.ErrorContains(t, err, `no gateway "other"`)
	require.Equal(t, 200, explainer(t, reedline(t)).Answer().Status)
}

// Whatever bytes come, in a form or as JSON, and whatever is saved: no panic, and what
// would be taken is told as something.
func FuzzCallback(f *testing.F) {
	for _, name := range []string{"reedline-text.http", "reedline-several.http", "reedline-report.http"} {
		cb, _ := saved(f, name)
		f.Add(string(cb.Body), "application/json", cb.URI)
	}
	f.Add("From=%2B15415550142&To=%2B15415550121&Body=hi&MessageId=1&Picture0=http://x", formType, "/in/sms/door?x=%zz")
	f.Add(`{"messages":[{"type":"text","sender":{"number":[1]},"line":{}}]}`, "application/json", "/in/status/reedline")
	json, form := explainer(f, reedline(f, "how: hmac_body", "how: none", "      secret: $REEDLINE_SIGNING_SECRET\n", "",
		"      header: X-Reedline-Signature\n      part: v1\n      time_part: t\n      hash: sha256\n      written: hex\n      within: 5m\n", "")),
		explainer(f, described(f, formGateway))
	f.Fuzz(func(t *testing.T, body, kind, uri string) {
		for _, e := range []*sms.Explainer{json, form} {
			made := e.Explain(&sms.Callback{Method: "POST", URI: uri, Header: http.Header{"Content-Type": {kind}}, Body: []byte(body)}, noon)
			if made.Answer < 300 {
				require.NotEmpty(t, made.Items)
				require.True(t, made.Holds)
			}
			for _, it := range made.Items {
				require.NotEmpty(t, it.Becomes)
			}
		}
		cb, at, err := sms.ReadSaved(strings.NewReader("POST " + uri + " HTTP/1.1\r\nContent-Type: " + kind + "\r\n\r\n" + body))
		if err == nil {
			var b bytes.Buffer
			require.NoError(t, cb.WriteTo(&b, at))
			again, _, err := sms.ReadSaved(&b)
			if err == nil {
				require.Equal(t, cb.Body, again.Body)
			}
		}
	})
}
