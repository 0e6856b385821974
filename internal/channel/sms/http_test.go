package sms_test

import (
	"context"
	"crypto/hmac"
	"crypto/sha1"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"io"
	"log/slog"
	"maps"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/gin-gonic/gin"
	"github.com/stretchr/testify/require"

	"tubhand/internal/channel/sms"
	"tubhand/internal/clock"
	"tubhand/internal/shop"
	"tubhand/internal/store"
)

const (
	cornerLine = "+15415550121"
	signingKey = "test-secret-not-for-production"
)

// vault holds the secrets of the tests.
var vault = shop.Vault{
	Env: func(name string) string {
		return map[string]string{"REEDLINE_SIGNING_SECRET": signingKey, "S": signingKey}[name]
	},
	File: func(string) ([]byte, error) { return []byte("token\n"), nil },
}

// reedline is the shop file of the page "Connect your gateway".
func reedline(t testing.TB, change ...string) *shop.File {
	t.Helper()
	src, err := os.ReadFile("../../../testdata/shops/reedline.yaml")
	require.NoError(t, err)
	text := strings.NewReplacer(change...).Replace(string(src))
	f, err := shop.Load("reedline.yaml", []byte(text))
	require.NoError(t, err)
	return f
}

// described is a small shop with a gateway of its own.
func described(t testing.TB, gateway string) *shop.File {
	t.Helper()
	src, err := os.ReadFile("../../../testdata/shops/small.yaml")
	require.NoError(t, err)
	text := strings.Replace(string(src), `  door: {kind: plain, send_to: "https://gateway.example/out"}`, "  door:\n    kind: http\n"+gateway, 1)
	f, err := shop.Load("described.yaml", []byte(text))
	require.NoError(t, err)
	return f
}

// papers keeps documents in memory, as a store does.
type papers map[string]store.Document

func (p papers) Document(_ context.Context, shop, kind, key string, _ time.Time) (store.Document, error) {
	d, ok := p[shop+"|"+kind+"|"+key]
	if !ok {
		return d, store.ErrNotFound
	}
	return d, nil
}

func (p papers) PutDocument(_ context.Context, shop string, d store.Document, _ time.Time) error {
	at := shop + "|" + d.Kind + "|" + d.Key
	if p[at].Version != d.Version {
		return store.ErrConflict
	}
	d.Version++
	p[at] = d
	return nil
}

// front is a bench whose shops are described.
type front struct {
	*bench
	papers papers
	router *gin.Engine
}

func open(t testing.TB, files ...*shop.File) *front {
	t.Helper()
	gin.SetMode(gin.ReleaseMode)
	f := &front{bench: setupQuiet(t), papers: papers{}, router: gin.New()}
	in, err := sms.New(sms.Config{
		Shops: files, Vault: vault, Turns: f.desk, Reports: f.desk, Receipts: f.papers, Clock: f.clock,
		Log: slog.New(slog.DiscardHandler), Urgent: func(string) bool { return false },
		Observe: func(answer int) { f.answers[answer]++ },
	})
	require.NoError(t, err)
	in.Mount(f.router)
	return f
}

// ask sends one request.
func (f *front) ask(method, target, body string, header ...string) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, target, strings.NewReader(body))
	for i := 0; i < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	w := httptest.NewRecorder()
	f.router.ServeHTTP(w, r)
	return w
}

// signed posts a callback as the invented gateway signs it.
func (f *front) signed(path, body string) *httptest.ResponseRecorder {
	stamp := strconv.FormatInt(f.clock.Now().Unix(), 10)
	return f.ask("POST", path, body, "Content-Type", "application/json", "X-Reedline-Signature", "t="+stamp+",v1="+seal(stamp+"."+body))
}

func seal(text string) string {
	h := hmac.New(sha256.New, []byte(signingKey))
	h.Write([]byte(text))
	return hex.EncodeToString(h.Sum(nil))
}

const several = `{"messages":[
 {"type":"text","id":"r-1","sender":{"number":"15415550142"},"line":"+15415550121","content":{"words":"done"}},
 {"type":"typing"},
 {"type":"report","reference":"corner/+15415550142.3","state":"Arrived"},
 {"type":"text","id":9007199254740993,"sender":{"number":"+1 541 555 0143"},"line":"5415550121","content":{"words":"pH 7.4"}}]}`

func TestOneCallbackTellsSeveralThings(t *testing.T) {
	f := open(t, reedline(t))
	f.states["corner/+15415550142.3"] = "sent"
	for range 2 {
		w := f.signed("/in/sms/reedline", several)
		require.Equal(t, 200, w.Code, w.Body.String())
		require.Equal(t, `{"received":true}`, w.Body.String())
		require.Equal(t, "application/json", w.Header().Get("Content-Type"))
	}
	require.Len(t, f.events, 2, "a repeated callback changes nothing")
	require.Equal(t, "sms:reedline:r-1", f.events[0].ID)
	require.Equal(t, "+15415550142", f.events[0].From)
	require.Equal(t, cornerLine, f.events[0].To)
	require.Equal(t, "reedline", f.events[0].Gateway)
	require.Equal(t, "done", f.events[0].Text)
	require.Equal(t, "sms:reedline:9007199254740993", f.events[1].ID)
	require.Equal(t, "delivered", f.states["corner/+15415550142.3"])
}

func TestASignatureIsAskedForBeforeAnythingElse(t *testing.T) {
	f := open(t, reedline(t))
	for _, w := range []*httptest.ResponseRecorder{
		f.ask("POST", "/in/sms/reedline", several, "Content-Type", "application/json"),
		f.ask("POST", "/in/sms/reedline", "no JSON", "Content-Type", "application/json", "X-Reedline-Signature", "t=1,v1=00"),
		f.ask("POST", "/in/sms/reedline", several, "Content-Type", "application/json",
			"X-Reedline-Signature", "t="+strconv.FormatInt(noon.Add(-time.Hour).Unix(), 10)+",v1="+seal(strconv.FormatInt(noon.Add(-time.Hour).Unix(), 10)+"."+several)),
	} {
		require.Equal(t, 401, w.Code)
		require.Equal(t, "the signature does not hold\n", w.Body.String(), "strangers are not told why")
	}
	require.Empty(t, f.events)
	require.Equal(t, map[int]int{401: 3}, f.answers)
}

func TestWhatOfSeveralIsRefusedDoesNotKeepTheOthers(t *testing.T) {
	f := open(t, reedline(t))
	w := f.signed("/in/sms/reedline", strings.Replace(several, "15415550142", "72345", 1))
	require.Equal(t, 200, w.Code)
	require.Len(t, f.events, 1)
	alone := `{"messages":[{"type":"text","id":"x","sender":{"number":"72345"},"line":"+15415550121"}]}`
	w = f.signed("/in/sms/reedline", alone)
	require.Equal(t, 422, w.Code)
	require.Contains(t, w.Body.String(), "from: a short code")
}

func TestWhereOneMustComeAgainAllDo(t *testing.T) {
	f := open(t, reedline(t))
	f.down = io.ErrUnexpectedEOF
	require.Equal(t, 503, f.signed("/in/sms/reedline", several).Code)
	f.down = nil
	f.states["corner/+15415550142.3"] = "sent"
	require.Equal(t, 200, f.signed("/in/sms/reedline", several).Code)
	require.Len(t, f.events, 2)
}

func TestCallbacksThatSuitNoDescription(t *testing.T) {
	f := open(t, reedline(t))
	for _, c := range []struct {
		body   string
		status int
		says   string
	}{
		{"{}", 422, "no message where the gateway's description looks"},
		{`{"messages":{}}`, 422, "no message where"},
		{`{"messages":[]}`, 422, "no message where"},
		{"[", 400, "the body is no well-formed JSON"},
		{`{"messages":[{"type":"text"}]}`, 400, "to: the number is missing"},
		{`{"messages":[` + strings.Repeat(`{},`, 300) + `{}]}`, 413, "more than 200 messages"},
	} {
		w := f.signed("/in/sms/reedline", c.body)
		require.Equal(t, c.status, w.Code, c.body)
		require.Contains(t, w.Body.String(), c.says)
	}
	require.Equal(t, 200, f.signed("/in/sms/reedline", `{"messages":[{"type":"typing"}]}`).Code, "what the description passes over is taken")
	require.Equal(t, 413, f.signed("/in/sms/reedline", strings.Repeat(" ", 64<<10+1)).Code)
	require.Equal(t, 415, f.ask("POST", "/in/sms/reedline", several, "Content-Type", "text/plain").Code)
	require.Equal(t, 405, f.ask("GET", "/in/sms/reedline", "").Code)
	require.Empty(t, f.events)
}

const formGateway = `
    public_url: https://tubs.corner.example/
    texts: {as: form, from: From, to: To, body: Body, id: MessageId, pictures: {url: "Picture{n}", kind: "PictureType{n}"}}
    reports: {id: MessageId, line: From, state: State, sent: queued, delivered: ok, failed: [lost]}
    signed: {how: hmac_url_form, secret: $S, header: X-Sig}
    send: {url: "https://api.example/send", form: {From: "{from}", To: "{to}", Text: "{body}"}, id: id}
`

// The vector of the reference: the address and the fields of the form are signed.
func TestAFormAndItsAddressAreSigned(t *testing.T) {
	f := open(t, described(t, strings.Replace(formGateway, "https://tubs.corner.example/", "https://tub.example/hooks", 1)))
	form := url.Values{"From": {"+12025550143"}, "To": {cornerLine}, "Body": {"pH 7.4 & ok"}, "MessageId": {"m1"},
		"Picture0": {"https://files.example/1"}, "PictureType0": {"image/jpeg"}}
	w := f.ask("POST", "/in/sms/door", form.Encode(), "Content-Type", formType, "X-Sig", sealForm("https://tub.example/hooks/in/sms/door", form))
	require.Equal(t, 204, w.Code, w.Body.String())
	require.Equal(t, "pH 7.4 & ok", f.events[0].Text)
	require.Contains(t, f.events[0].Remark, "a picture (image/jpeg)")
	require.NotContains(t, f.events[0].Remark, "files.example", "where a stranger's picture lies is no link for staff to press")
	w = f.ask("POST", "/in/sms/door?x=1", form.Encode(), "Content-Type", formType, "X-Sig", sealForm("https://tub.example/hooks/in/sms/door", form))
	require.Equal(t, 401, w.Code, "the address is signed, too")
}

func TestReportsByTheGatewaysOwnID(t *testing.T) {
	f := open(t, described(t, formGateway))
	post := func(id, state string) *httptest.ResponseRecorder {
		form := url.Values{"From": {cornerLine}, "MessageId": {id}, "State": {state}}
		return f.ask("POST", "/in/status/door", form.Encode(), "Content-Type", formType, "X-Sig", sealForm("https://tubs.corner.example/in/status/door", form))
	}
	f.states["corner/+15415550142.7"] = "queued"
	f.papers["corner|gateway_id|door:G-77"] = store.Document{Value: []byte("+15415550142.7"), Version: 1}
	require.Equal(t, 204, post("G-77", "OK").Code)
	require.Equal(t, "delivered", f.states["corner/+15415550142.7"])
	require.Equal(t, 204, post("G-77", "thinking").Code, "a word that is not in the description changes nothing")
	require.Equal(t, "delivered", f.states["corner/+15415550142.7"])
	require.Equal(t, 400, post("", "ok").Code)
}

func TestAReportWaitsForTheMessageToBeSettled(t *testing.T) {
	f := open(t, described(t, formGateway))
	f.states["corner/a.1"] = "queued"
	form := url.Values{"From": {cornerLine}, "MessageId": {"G-1"}, "State": {"lost"}}
	answered := make(chan int)
	go func() {
		w := f.ask("POST", "/in/status/door", form.Encode(), "Content-Type", formType, "X-Sig", sealForm("https://tubs.corner.example/in/status/door", form))
		answered <- w.Code
	}()
	for {
		f.clock.Jump(time.Second)
		select {
		case code := <-answered:
			require.Equal(t, 404, code, "nobody knows it")
			return
		default:
		}
	}
}

const queryGateway = `
    texts: {as: query, from: msisdn, body: text, body_as: ucs2_hex, time: "header:X-Sent-At"}
    signed: {how: shared_secret, secret: $S, query: token}
    send: {method: GET, url: "https://api.example/send", query: {to: "{to_digits}", text: "{body}"}}
`

func TestAGatewayThatAsksWithGET(t *testing.T) {
	f := open(t, described(t, queryGateway))
	ask := func(sent string) *httptest.ResponseRecorder {
		return f.ask("GET", "/in/sms/door?msisdn=15415550142&text=00a1004f006b0021&token="+signingKey, "", "X-Sent-At", sent)
	}
	require.Equal(t, 204, ask("2026-06-13T12:00:00Z").Code)
	require.Equal(t, 204, ask("2026-06-13T12:00:00Z").Code)
	require.Equal(t, 204, ask("2026-06-13T12:00:09Z").Code)
	require.Len(t, f.events, 2, "without an id the gateway's time tells repeats from new texts")
	require.Equal(t, "¡Ok!", f.events[0].Text)
	require.Equal(t, cornerLine, f.events[0].To, "the one shop's line")
	require.Equal(t, 401, f.ask("GET", "/in/sms/door?msisdn=15415550142&text=00&token=x", "").Code)
	require.Equal(t, 400, f.ask("GET", "/in/sms/door?msisdn=15415550142&text=0&token="+signingKey, "").Code)
	require.Equal(t, 404, f.ask("GET", "/in/status/door?token="+signingKey, "").Code)
}

func TestNewRefusesWhatCannotWork(t *testing.T) {
	none := shop.Vault{Env: func(string) string { return "" }, File: os.ReadFile}
	_, err := sms.New(sms.Config{Shops: []*shop.File{reedline(t)}, Vault: none, Clock: clock.NewStill(noon)})
	require.ErrorContains(t, err, `shop "corner": sms: gateway "reedline": signed: secret: there is nothing in $REEDLINE_SIGNING_SECRET`)

	second := reedline(t, "shop: corner", "shop: other", "line: (541) 555-0121", "line: (541) 555-0123")
	_, err = sms.New(sms.Config{Shops: []*shop.File{reedline(t), second}, Vault: vault})
	require.NoError(t, err, "two shops may share a gateway")
	second = reedline(t, "shop: corner", "shop: other", "line: (541) 555-0121", "line: (541) 555-0123", "hash: sha256", "hash: sha512")
	_, err = sms.New(sms.Config{Shops: []*shop.File{reedline(t), second}, Vault: vault})
	require.ErrorContains(t, err, `shop "other" describes the callbacks of gateway "reedline" otherwise`)

	first, other := described(t, queryGateway), described(t, queryGateway)
	other.Shop.Key, other.Shop.Line = "other", "+15415550123"
	_, err = sms.New(sms.Config{Shops: []*shop.File{first, other}, Vault: vault})
	require.ErrorContains(t, err, `gateway "door" carries for several shops`)
}

func TestTheHeaderIsNoPlaceForTwo(t *testing.T) {
	f := open(t, described(t, queryGateway))
	r := httptest.NewRequest("GET", "/in/sms/door?msisdn=15415550142&text=0041&token="+signingKey, nil)
	r.Header = http.Header{"X-Sent-At": {"a", "b"}}
	w := httptest.NewRecorder()
	f.router.ServeHTTP(w, r)
	require.Equal(t, 400, w.Code)
}

// sealForm signs an address and a form's fields in their order.
func sealForm(address string, form url.Values) string {
	var b strings.Builder
	b.WriteString(address)
	for _, name := range slices.Sorted(maps.Keys(form)) {
		b.WriteString(name + form.Get(name))
	}
	h := hmac.New(sha1.New, []byte(signingKey))
	h.Write([]byte(b.String()))
	return base64.StdEncoding.EncodeToString(h.Sum(nil))
}
