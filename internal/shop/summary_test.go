package shop_test

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/shop"
)

func full() shop.Vault {
	return shop.Vault{Env: func(string) string { return "s" }, File: func(string) ([]byte, error) { return []byte("s"), nil }}
}

func said(t *testing.T, src string) (all, warnings string) {
	t.Helper()
	f, err := shop.Load("f.yaml", []byte(src))
	require.NoError(t, err)
	s := f.Summary(full())
	for _, section := range s.Understood {
		require.NotEmpty(t, section.Says)
		all += section.About + "\n" + strings.Join(section.Says, "\n") + "\n"
	}
	return all, strings.Join(s.Warnings, "\n")
}

func TestASummarySaysWhatWasUnderstood(t *testing.T) {
	all, warnings := said(t, described)
	for _, want := range []string{
		"Corner Tubs (corner), phone +1 541 555 0120, in America/Boise",
		"gateway reedline (http), which carries what the shop says",
		"come to https://tubs.corner.example/in/sms/reedline, as JSON",
		"each of messages[], where type is text, from from sender.number",
		`signed: HMAC-SHA256 over the time, "." and the body in header X-Reedline-Signature, part v1, a time at most 5m0s off`,
		"delivery reports come to the same address: our key from reference",
		"expired/refused/unreachable means failed",
		`answered 200 with application/json: {"received":true}`,
		"by POST https://api.reedline.example/v3/messages as JSON, authorized by bearer, with a key that tells repeats, at most 10 a second",
		"Ana at +15415550122", "open: mon 8:00-12:00", "Corner Rinse, 1 level teaspoons for each 125 US gal",
	} {
		require.Contains(t, all, want)
	}
	require.Empty(t, warnings)
}

func TestWhatIsOpenIsTold(t *testing.T) {
	_, warnings := said(t, small)
	require.Contains(t, warnings, "gateway door: its callbacks are not signed: whoever knows the address can text in any owner's name")

	for _, c := range []struct{ from, to, want string }{
		{"send_to: \"https://gateway.example/out\"", "send_to: \"http://gateway.example/out\"", "messages go out over http"},
		{"on_call: [ana]", "on_call: [ana]\n# line", ""},
		{"page: 541-555-0122", "page: 541-555-0121", "on_call: ana is paged at the shop's own line"},
	} {
		_, warnings := said(t, strings.Replace(small, c.from, c.to, 1))
		require.Contains(t, warnings, c.want)
	}
	bare := `kind: http
    texts: {as: form, from: f, body: b}
    signed: {how: shared_secret, query: k, secret: $S}
    send: {url: "https://g.example", form: {to: "{to}", b: "{body}"}}`
	_, warnings = said(t, strings.Replace(small, `{kind: plain, send_to: "https://gateway.example/out"}`, "\n    "+bare, 1))
	for _, want := range []string{"a secret comes along with each callback", "stands in the address, which proxies write to their logs",
		"no time is signed", "have no id", "it reports nothing", "a request carries no {key}"} {
		require.Contains(t, warnings, want)
	}
}

func TestWhatASignatureDoesNotReachIsTold(t *testing.T) {
	for signed, want := range map[string][]string{
		"{how: hmac_body, header: S, secret: $S}":                                  {"from in header:X-From is not covered", "id in query:id is not covered", "body in header:Webhook-Id is not covered"},
		"{how: hmac_url_form, header: S, secret: $S}":                              {"from in header:X-From is not covered", "body in header:Webhook-Id is not covered"},
		"{how: standard_webhooks, secret: $S}":                                     {"from in header:X-From is not covered", "id in query:id is not covered"},
		"{how: ed25519, header: S, time_header: T, public_key: " + publicKey + "}": {"from in header:X-From is not covered", "id in query:id is not covered", "body in"},
		"{how: none}": {},
	} {
		_, warnings := said(t, strings.Replace(small, `{kind: plain, send_to: "https://gateway.example/out"}`, `
    kind: http
    public_url: http://tubs.example
    texts: {as: form, from: "header:X-From", to: t, body: "header:Webhook-Id", id: "query:id"}
    send: {url: "https://g.example", json: {to: "{to}", b: "{body}"}}
    signed: `+signed, 1))
		require.Equal(t, len(want), strings.Count(warnings, "is not covered by its signature"), "%s: %s", signed, warnings)
		for _, w := range want {
			require.Contains(t, warnings, w)
		}
		require.Contains(t, warnings, "its callbacks come over http")
	}
}

func TestASecretThatIsNotThereIsAWarning(t *testing.T) {
	f, err := shop.Load("f.yaml", []byte(described))
	require.NoError(t, err)
	s := f.Summary(shop.Vault{Env: func(string) string { return "" }, File: os.ReadFile})
	require.Contains(t, strings.Join(s.Warnings, "\n"), "there is nothing in $REEDLINE_SIGNING_SECRET")
}

func TestEachWayOfSigningIsPutInWords(t *testing.T) {
	for signed, want := range map[string]string{
		"{how: none}":                                                                  "no; open to anyone who knows the address",
		"{how: basic, user: u, secret: $S}":                                            "no, a password comes along (Basic, user u)",
		"{how: shared_secret, header: X-K, secret: $S}":                                "no, a secret comes along in header X-K",
		"{how: standard_webhooks, secret: [$S, $T]}":                                   "Standard Webhooks, a time at most 5m0s off",
		"{how: hmac_body, header: X-S, secret: $S, hash: sha512, written: base64}":     "HMAC-SHA512 over the body in header X-S",
		"{how: ed25519, header: X-S, time_header: X-T, public_key: " + publicKey + "}": "Ed25519 in header X-S, a time at most",
	} {
		all, _ := said(t, strings.Replace(small, `{kind: plain, send_to: "https://gateway.example/out"}`, `
    kind: http
    texts: {as: json, from: f, body: b}
    send: {url: "https://g.example", json: {to: "{to}", b: "{body}"}}
    pictures: {fetch: true, hosts: files.example}
    signed: `+signed, 1))
		require.Contains(t, all, "signed: "+want)
		require.Contains(t, all, "pictures are not looked for")
	}
}

// RFC 8032, 7.1, TEST 3.
const publicKey = "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025"
