package sign_test

import (
	"bytes"
	"crypto/ed25519"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tubhand/internal/channel/sms/sign"
	"tubhand/internal/shop"
	"tubhand/internal/shop/field"
)

// Computed once with an independent program: key, body and time are the same in all.
const (
	key   = "test-secret-not-for-production"
	body  = `{"id":"m1","from":"+12025550143","text":"ok"}`
	stamp = "1767225600"
)

var then = time.Unix(1767225600, 0)

func request(body string, header ...string) *sign.Request {
	r := &sign.Request{URL: "https://tub.example/hooks/sms", Header: http.Header{}, Body: []byte(body)}
	r.Form = func() (field.Pairs, error) { return field.ParseForm(body) }
	for i := 0; i < len(header); i += 2 {
		r.Header.Add(header[i], header[i+1])
	}
	return r
}

func check(t testing.TB, how shop.Sign, secrets ...string) *sign.Check {
	t.Helper()
	var all [][]byte
	for _, s := range secrets {
		all = append(all, []byte(s))
		how.Secrets = append(how.Secrets, "$SECRET")
	}
	c, err := sign.New(how, all)
	require.NoError(t, err)
	return c
}

// vector is a signed request that must hold, and does not once anything is changed.
type vector struct {
	name    string
	how     shop.Sign
	secret  []string
	request func() *sign.Request
}

const form = "Body=pH+7.4+%26+ok&From=%2B12025550143&MessageId=m1&To=%2B12025550100"

func vectors() []vector {
	return []vector{
		{"HMAC-SHA1 over address and form, base64",
			shop.Sign{How: shop.SignForm, Header: "X-Sig", Hash: "sha1", Base64: true}, []string{key},
			func() *sign.Request { return request(form, "X-Sig", "ff0QvDGKxTb+pziVJhBaq0jr6iw=") }},
		{"HMAC-SHA256 over the body, hexadecimal",
			shop.Sign{How: shop.SignBody, Header: "X-Sig", Hash: "sha256"}, []string{key},
			func() *sign.Request {
				return request(body, "X-Sig", "821711c5ae7018dfad41e0ebe9b13073bf8bf75e27b68c072c2ec87340d17190")
			}},
		{"the same with a prefix and a secret on its way out",
			shop.Sign{How: shop.SignBody, Header: "X-Sig", Hash: "sha256", Prefix: "sha256="}, []string{"the next one", key},
			func() *sign.Request {
				return request(body, "X-Sig", "sha256=821711c5ae7018dfad41e0ebe9b13073bf8bf75e27b68c072c2ec87340d17190")
			}},
		{"time and body in one header",
			shop.Sign{How: shop.SignBody, Header: "X-Sig", Part: "v1", TimePart: "t", Between: ".", Hash: "sha256", Within: 5 * time.Minute}, []string{key},
			func() *sign.Request {
				return request(body, "X-Sig", "t="+stamp+",v1=c06d7501f9a9add075da3081347f9ca9fc2298c8240435c17e353b68b75fa236")
			}},
		{"time in a header of its own",
			shop.Sign{How: shop.SignBody, Header: "X-Sig", TimeIn: "X-Time", Between: ".", Hash: "sha256", Within: 5 * time.Minute}, []string{key},
			func() *sign.Request {
				return request(body, "X-Time", stamp, "X-Sig", "c06d7501f9a9add075da3081347f9ca9fc2298c8240435c17e353b68b75fa236")
			}},
		{"Standard Webhooks",
			shop.Sign{How: shop.SignStandard, Within: 5 * time.Minute}, []string{"whsec_MDEyMzQ1Njc4OWFiY2RlZjAxMjM0NTY3ODlhYmNkZWY="},
			func() *sign.Request {
				return request(body, "webhook-id", "msg_1", "webhook-timestamp", stamp,
					"webhook-signature", "v1,bm90IG91cnM= v1,uiboeoHqfM9oMqaTABYq3Ess8uz+gIlBw17GuO9Wjos= v9,AAAA")
			}},
		// RFC 4231, 4.3 (test case 2).
		{"RFC 4231 HMAC-SHA-256", shop.Sign{How: shop.SignBody, Header: "X-Sig", Hash: "sha256"}, []string{"Jefe"},
			func() *sign.Request {
				return request("what do ya want for nothing?", "X-Sig", "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843")
			}},
		{"RFC 4231 HMAC-SHA-512", shop.Sign{How: shop.SignBody, Header: "X-Sig", Hash: "sha512"}, []string{"Jefe"},
			func() *sign.Request {
				return request("what do ya want for nothing?", "X-Sig", "164b7a7bfcf819e2e395fbe73b56e0a387bd64222e831fd610270cd7ea250554"+
					"9758bf75c05a994a6d034f65f8f0e6fdcaeab1a34d4a6b4b636e070a38bce737")
			}},
		// RFC 2202, 3 (test case 2).
		{"RFC 2202 HMAC-SHA-1", shop.Sign{How: shop.SignBody, Header: "X-Sig", Hash: "sha1"}, []string{"Jefe"},
			func() *sign.Request {
				return request("what do ya want for nothing?", "X-Sig", "effcdf6ae5eb2fa2d27416d5f184df9c259a7c79")
			}},
		// RFC 8032, 7.1, TEST 3.
		{"RFC 8032 Ed25519", shop.Sign{How: shop.SignEd25519, Header: "X-Sig",
			Keys: []string{"fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025"}}, nil,
			func() *sign.Request {
				return request("\xaf\x82", "X-Sig", "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3a"+
					"c18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a")
			}},
	}
}

func TestVectorsHold(t *testing.T) {
	for _, v := range vectors() {
		require.NoError(t, check(t, v.how, v.secret...).Verify(v.request(), then), v.name)
	}
}

func TestNothingHoldsOnceItIsChanged(t *testing.T) {
	for _, v := range vectors() {
		c := check(t, v.how, v.secret...)
		for what, change := range map[string]func(r *sign.Request){
			"body": func(r *sign.Request) {
				r.Body = append(r.Body, ' ')
				r.Form = func() (field.Pairs, error) { return field.ParseForm(form + "&More=1") }
			},
			"no headers": func(r *sign.Request) { r.Header = http.Header{} },
			"twice": func(r *sign.Request) {
				for name := range r.Header {
					r.Header.Add(name, r.Header.Get(name))
				}
			},
			"signature": func(r *sign.Request) {
				for _, name := range []string{"X-Sig", "Webhook-Signature"} {
					if given := []byte(r.Header.Get(name)); len(given) > 0 {
						at := bytes.LastIndexAny(given, "abcd")
						given[at] = map[byte]byte{'a': 'b', 'b': 'c', 'c': 'd', 'd': 'a'}[given[at]]
						r.Header.Set(name, strings.Replace(string(given), "v9,AAAA", "", 1))
					}
				}
			},
		} {
			r := v.request()
			change(r)
			err := c.Verify(r, then)
			var failure *sign.Failure
			require.ErrorAs(t, err, &failure, "%s: %s", v.name, what)
			for _, s := range v.secret {
				require.NotContains(t, err.Error(), s)
			}
		}
		if len(v.secret) > 0 && v.how.How != shop.SignStandard {
			require.Error(t, check(t, v.how, "another").Verify(v.request(), then), v.name)
		}
		if v.how.How == shop.SignForm {
			r := v.request()
			r.URL = "http://tub.example/hooks/sms"
			require.Error(t, c.Verify(r, then))
			require.Contains(t, c.Guess(r), "where the gateway signs the address https://tub.example/hooks/sms")
		}
		if v.how.Timed() {
			require.ErrorContains(t, c.Verify(v.request(), then.Add(5*time.Minute+time.Second)), "5m1s old, and the window is 5m0s")
			require.ErrorContains(t, c.Verify(v.request(), then.Add(-6*time.Minute)), "ahead")
			require.NoError(t, c.Verify(v.request(), then.Add(5*time.Minute)))
		}
	}
}

// The example of the Standard Webhooks text, from memory: what it signs and with which
// secret; the signature was computed with an independent program.
func TestStandardWebhooksExample(t *testing.T) {
	c := check(t, shop.Sign{How: shop.SignStandard, Within: time.Minute}, "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw")
	r := request(`{"test": 2432232314}`, "webhook-id", "msg_p5jXN8AQM9LWM0D4loKWxJek", "webhook-timestamp", "1614265330",
		"webhook-signature", "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=")
	require.NoError(t, c.Verify(r, time.Unix(1614265330, 0)))
}

func TestStandardWebhooksByEd25519(t *testing.T) {
	public, private, err := ed25519.GenerateKey(nil)
	require.NoError(t, err)
	c := check(t, shop.Sign{How: shop.SignStandard, Within: time.Minute}, "whpk_"+base64.StdEncoding.EncodeToString(public))
	signature := ed25519.Sign(private, []byte("m1."+stamp+"."+body))
	r := request(body, "webhook-id", "m1", "webhook-timestamp", stamp, "webhook-signature", "v1a,"+base64.StdEncoding.EncodeToString(signature))
	require.NoError(t, c.Verify(r, then))
	r.Body[0] = '['
	require.Error(t, c.Verify(r, then))
}

func TestEd25519OverTimeAndBody(t *testing.T) {
	public, private, err := ed25519.GenerateKey(nil)
	require.NoError(t, err)
	how := shop.Sign{How: shop.SignEd25519, Header: "X-Sig", TimeIn: "X-Time", Keys: []string{base64.StdEncoding.EncodeToString(public)}, Within: time.Minute}
	r := request(body, "X-Time", stamp, "X-Sig", hex.EncodeToString(ed25519.Sign(private, []byte(stamp+body))))
	require.NoError(t, check(t, how).Verify(r, then))
	require.ErrorContains(t, check(t, how).Verify(r, then.Add(2*time.Minute)), "old")
	r.Header.Set("X-Sig", "abcd")
	require.ErrorContains(t, check(t, how).Verify(r, then), "2 bytes where Ed25519 has 64")
}

func TestPasswords(t *testing.T) {
	basic := check(t, shop.Sign{How: shop.SignBasic, User: "reed"}, "pw", "old pw")
	for _, c := range []struct {
		user, password string
		ok             bool
	}{{"reed", "pw", true}, {"reed", "old pw", true}, {"reed", "p", false}, {"Reed", "pw", false}, {"", "", false}} {
		q := &http.Request{Header: http.Header{}}
		q.SetBasicAuth(c.user, c.password)
		require.Equal(t, c.ok, basic.Verify(&sign.Request{Header: q.Header}, then) == nil, "%v", c)
	}
	require.ErrorContains(t, basic.Verify(request(body, "Authorization", "Bearer x"), then), "not Basic")

	inHeader := check(t, shop.Sign{How: shop.SignShared, Header: "Authorization", Prefix: "Bearer "}, "tok")
	require.NoError(t, inHeader.Verify(request(body, "Authorization", "Bearer tok"), then))
	require.ErrorContains(t, inHeader.Verify(request(body, "Authorization", "tok"), then), `does not begin with "Bearer "`)
	require.ErrorContains(t, inHeader.Verify(request(body, "Authorization", "Bearer x"), then), "another secret")

	inQuery := check(t, shop.Sign{How: shop.SignShared, Query: "k"}, "tok")
	r := request(body)
	require.ErrorContains(t, inQuery.Verify(r, then), "no field k")
	r.Query = field.Pairs{{Name: "k", Value: "tok"}}
	require.NoError(t, inQuery.Verify(r, then))
	r.Query = append(r.Query, r.Query[0])
	require.ErrorContains(t, inQuery.Verify(r, then), "more than once")
}

func TestWhyASignatureDoesNotHold(t *testing.T) {
	how := shop.Sign{How: shop.SignBody, Header: "X-Sig", Hash: "sha256"}
	for signature, why := range map[string]string{
		"effcdf6ae5eb2fa2d27416d5f184df9c259a7c79": "20 bytes where sha256 gives 32",
		"not hex":                 "not written in hexadecimal",
		strings.Repeat("ab", 32):  "another secret, or something else",
		strings.Repeat("a", 5000): "longer than any signature",
	} {
		require.ErrorContains(t, check(t, how, key).Verify(request(body, "X-Sig", signature), then), why)
	}
	how.Hash, how.Base64 = "sha512", true
	wrong := check(t, how, key)
	r := request(body, "X-Sig", "sha256=821711c5ae7018dfad41e0ebe9b13073bf8bf75e27b68c072c2ec87340d17190")
	require.Error(t, wrong.Verify(r, then))
	require.Equal(t, `how: hmac_body over the body alone, hash: sha256, written: hex, prefix: "sha256="`, wrong.Guess(r))
	require.Empty(t, wrong.Guess(request(body, "X-Sig", strings.Repeat("ab", 32))))
}

func TestBadSecretsAreToldAtTheStart(t *testing.T) {
	for _, s := range []string{"whsec_%%", "whsec_c2hvcnQ=", "whpk_AAAA"} {
		_, err := sign.New(shop.Sign{How: shop.SignStandard, Secrets: []shop.Secret{"$X"}}, [][]byte{[]byte(s)})
		require.ErrorContains(t, err, "$X")
		require.NotContains(t, err.Error(), s)
	}
}

func TestTimesAsGatewaysWriteThem(t *testing.T) {
	for _, written := range []string{"1767225600", "1767225600000", "2026-01-01T00:00:00Z", "2025-12-31T16:00:00-08:00"} {
		at, ok := sign.Time(written)
		require.True(t, ok, written)
		require.True(t, at.Equal(then), written)
	}
	for _, written := range []string{"", "yesterday", "-5", "99999999999999999", "0"} {
		_, ok := sign.Time(written)
		require.False(t, ok, written)
	}
}

// No header makes a signature hold but the right one, and none makes a check panic.
func TestRandomHeadersNeverHold(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		v := rapid.SampledFrom(vectors()).Draw(rt, "way")
		r := v.request()
		r.Header = http.Header{}
		for _, name := range []string{"X-Sig", "X-Time", "Webhook-Id", "Webhook-Timestamp", "Webhook-Signature"} {
			r.Header.Set(name, rapid.OneOf(rapid.String(), rapid.StringMatching(`(v1,|t=1767225600,v1=|sha256=)?[0-9a-f]{64}`), rapid.Just(stamp)).Draw(rt, name))
		}
		c := check(t, v.how, v.secret...)
		err := c.Verify(r, then)
		var failure *sign.Failure
		if !errors.As(err, &failure) {
			rt.Fatalf("%s held with %v", v.name, r.Header)
		}
		c.Guess(r)
	})
}
