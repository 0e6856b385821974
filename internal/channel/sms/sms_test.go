package sms_test

import (
	"context"
	"errors"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/gin-gonic/gin"
	"github.com/stretchr/testify/require"

	"tubhand/internal/channel/sms"
	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/shop"
	"tubhand/internal/store"
)

const (
	line  = "+15415550100"
	owner = "+15415550142"
)

var demo = shop.Demo()

var noon = time.Date(2026, 6, 13, 12, 0, 0, 0, time.UTC)

// desk stands in for turns and reports: it keeps what it is given, once for each id.
type desk struct {
	mu     sync.Mutex
	events []conversation.Event
	marks  map[string]bool
	states map[string]string
	down   error
}

func (d *desk) Handle(_ context.Context, shop string, ev conversation.Event) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.down != nil {
		return d.down
	}
	if !d.marks[shop+ev.ID] {
		d.marks[shop+ev.ID] = true
		d.events = append(d.events, ev)
	}
	return nil
}

func (d *desk) Delivered(_ context.Context, shop, line, state string) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.down != nil {
		return d.down
	}
	if _, ok := d.states[shop+"/"+line]; !ok {
		return store.ErrNotFound
	}
	d.states[shop+"/"+line] = state
	return nil
}

type bench struct {
	*desk
	url     string
	clock   *clock.Jumping
	answers map[int]int
}

// setupQuiet makes a bench without a server.
func setupQuiet(t testing.TB) *bench {
	t.Helper()
	return &bench{
		desk:  &desk{marks: map[string]bool{}, states: map[string]string{}},
		clock: clock.NewStill(noon), answers: map[int]int{},
	}
}

func setup(t testing.TB) *bench {
	t.Helper()
	b := setupQuiet(t)
	router := gin.New()
	b.inbound(t, shop.Demo()).Mount(router)
	srv := httptest.NewServer(router)
	t.Cleanup(srv.Close)
	b.url = srv.URL
	return b
}

func (b *bench) inbound(t testing.TB, shops ...*shop.File) *sms.Inbound {
	t.Helper()
	gin.SetMode(gin.ReleaseMode)
	in, err := sms.New(sms.Config{
		Shops: shops, Turns: b.desk, Reports: b.desk, Clock: b.clock, Log: slog.New(slog.DiscardHandler),
		Urgent:  func(text string) bool { return strings.Contains(text, "cannot breathe") },
		Observe: func(answer int) { b.mu.Lock(); b.answers[answer]++; b.mu.Unlock() },
	})
	require.NoError(t, err)
	return in
}

// post sends a raw body and gives back the answer, its body read.
func (b *bench) post(t testing.TB, path, kind, body string) (*http.Response, string) {
	t.Helper()
	resp, err := http.Post(b.url+path, kind, strings.NewReader(body))
	require.NoError(t, err)
	defer resp.Body.Close()
	said, err := io.ReadAll(resp.Body)
	require.NoError(t, err)
	return resp, string(said)
}

const formType = "application/x-www-form-urlencoded"

// text posts a text of the owner as the plain gateway does.
func (b *bench) text(t testing.TB, id, body string) int {
	t.Helper()
	form := url.Values{"from": {owner}, "to": {line}, "body": {body}, "id": {id}}
	resp, _ := b.post(t, "/in/sms/plain", formType, form.Encode())
	return resp.StatusCode
}

func TestATextBecomesAnEvent(t *testing.T) {
	b := setup(t)
	resp, said := b.post(t, "/in/sms/plain", formType+"; charset=UTF-8",
		"from=%2B12125550142&to=%2B15415550100&body=hi%2C+need+to+flush&id=m-1&extra=1&extra=2")
	require.Equal(t, 204, resp.StatusCode)
	require.Empty(t, said)
	require.Equal(t, []conversation.Event{{
		ID: "sms:plain:m-1", Kind: conversation.TextIn, From: "+12125550142", To: line, Gateway: "plain",
		Text: "hi, need to flush", TimeZone: "America/New_York", Region: "US",
	}}, b.events)
	require.Equal(t, map[int]int{204: 1}, b.answers)
}

func TestNumbersAreReadHoweverTheyAreWritten(t *testing.T) {
	b := setup(t)
	for _, from := range []string{"%2B15415550142", "+15415550142", "15415550142", "(541)+555-0142", "5415550142"} {
		for _, to := range []string{"%2B15415550100", "+15415550100", "15415550100", "541-555-0100"} {
			resp, said := b.post(t, "/in/sms/plain", formType, "body=hi&from="+from+"&to="+to+"&id="+from+to)
			require.Equal(t, 204, resp.StatusCode, "%s %s: %s", from, to, said)
		}
	}
	for _, ev := range b.events {
		require.Equal(t, owner, ev.From)
		require.Equal(t, line, ev.To)
	}
}

func TestWhereTheOwnerLives(t *testing.T) {
	for _, c := range []struct{ from, zone, region string }{
		{"+15415550199", "America/Los_Angeles", "US"},
		{"+18005550142", "America/Los_Angeles", "US"}, // toll-free: the shop's
		{"+16045550142", "America/Vancouver", "CA"},
		{"+442079460123", "Europe/London", "GB"},
	} {
		b := setup(t)
		form := url.Values{"from": {c.from}, "to": {line}, "body": {"hi"}, "id": {"1"}}
		resp, said := b.post(t, "/in/sms/plain", formType, form.Encode())
		require.Equal(t, 204, resp.StatusCode, said)
		require.Equal(t, c.zone, b.events[0].TimeZone, c.from)
		require.Equal(t, c.region, b.events[0].Region, c.from)
	}
}

func TestBadRequestsHaveAPlainReason(t *testing.T) {
	const good = "from=%2B15415550142&to=%2B15415550100&body=hi&id=1"
	for _, c := range []struct {
		path, kind, body string
		status           int
		reason           string
	}{
		{"/in/sms/other", formType, good, 404, "no such gateway"},
		{"/in/sms/plain", "application/json", `{"from":"+15415550142"}`, 415, "wants Content-Type application/x-www-form"},
		{"/in/sms/plain", "", good, 415, "wants Content-Type"},
		{"/in/sms/plain", "multipart/form-data; boundary=x", good, 415, "wants Content-Type"},
		{"/in/sms/plain", formType, strings.Repeat("a", 64<<10+1), 413, "more than 65536 bytes"},
		{"/in/sms/plain", formType, "body=%zz", 400, "no well-formed form"},
		{"/in/sms/plain", formType, "from=a;to=b", 400, "no well-formed form"},
		{"/in/sms/plain", formType, good + "&from=%2B15415550143", 400, "field from is there more than once"},
		{"/in/sms/plain", formType, good + "&id=2", 400, "field id is there more than once"},
		{"/in/sms/plain", formType, "to=%2B15415550100&body=hi", 400, "from: the number is missing"},
		{"/in/sms/plain", formType, "from=&to=%2B15415550100&body=hi", 400, "from: the number is missing"},
		{"/in/sms/plain", formType, "from=Fernhollow&to=%2B15415550100", 400, "from: not a phone number"},
		{"/in/sms/plain", formType, "from=72345&to=%2B15415550100", 422, "from: a short code"},
		{"/in/sms/plain", formType, "from=%2B12025550143999&to=%2B15415550100", 422, "from: no such number"},
		{"/in/sms/plain", formType, "from=%2B15415550100&to=%2B15415550100", 422, "from: is the shop's own line"},
		{"/in/sms/plain", formType, "from=%2B15415550142&body=hi", 400, "to: the number is missing"},
		{"/in/sms/plain", formType, "from=%2B15415550142&to=%00", 400, "to: not a phone number"},
		{"/in/sms/plain", formType, "from=%2B15415550142&to=%2B15415550199", 404, "to: no shop has that line here"},
		{"/in/sms/plain", formType, "", 400, "to: the number is missing"},
	} {
		b := setup(t)
		resp, said := b.post(t, c.path, c.kind, c.body)
		require.Equal(t, c.status, resp.StatusCode, "%s gave %s", c.body, said)
		require.Contains(t, said, c.reason)
		require.Contains(t, resp.Header.Get("Content-Type"), "text/plain")
		require.Empty(t, b.events)
		require.Equal(t, map[int]int{c.status: 1}, b.answers)
	}
}

func TestOddBodiesAreTakenAsTheyCanBeRead(t *testing.T) {
	for _, c := range []struct{ what, body, want string }{
		{"nothing", "", ""},
		{"blanks", " \t\r\n ", ""},
		{"emoji", "👍🏽", "👍🏽"},
		{"control characters", "d\x00o\x07n\x1be\u0085", "done"},
		{"line ends", "a\r\nb\rc\td", "a\nb\nc d"},
		{"broken UTF-8", "pH 7\xff.2\xc3", "pH 7\uFFFD.2\uFFFD"},
		{"a joined emoji", "👨‍👩‍👧", "👨‍👩‍👧"},
		{"the longest", strings.Repeat("ñ", 1600), strings.Repeat("ñ", 1600)},
		{"over-long", strings.Repeat("a", 30000), strings.Repeat("a", 1600)},
	} {
		b := setup(t)
		require.Equal(t, 204, b.text(t, "1", c.body), c.what)
		require.Len(t, b.events, 1)
		require.Equal(t, c.want, b.events[0].Text, c.what)
	}
}

func TestAnEmergencyFarDownALongTextIsNotCutOff(t *testing.T) {
	for _, before := range []int{0, 1590, 1599, 3000, 7900} {
		b := setup(t)
		long := strings.Repeat("x ", before/2) + "she cannot breathe " + strings.Repeat("y", 30000)
		require.Equal(t, 204, b.text(t, "1", long))
		require.Contains(t, b.events[0].Text, "cannot breathe", "after %d", before)
		require.LessOrEqual(t, len(b.events[0].Text), 1600)
	}
}

func TestARepeatedIdIsAnsweredAlikeAndHandledOnce(t *testing.T) {
	b := setup(t)
	for range 5 {
		require.Equal(t, 204, b.text(t, "m-1", "done"))
	}
	require.Equal(t, 204, b.text(t, "m-1", "other words under the same id"))
	require.Len(t, b.events, 1)
}

func TestWithoutAnIdTheSameTextInAMinuteIsOne(t *testing.T) {
	b := setup(t)
	require.Equal(t, 204, b.text(t, "", "done"))
	require.Equal(t, 204, b.text(t, "", "done"))
	require.Len(t, b.events, 1)
	require.Equal(t, 204, b.text(t, "", "not done"))
	require.Len(t, b.events, 2, "other words are another text")
	b.clock.Jump(time.Minute)
	require.Equal(t, 204, b.text(t, "", "done"))
	require.Len(t, b.events, 3, "and so are the same ones later")
}

func TestIdsOfAnyBytesMakePlainMarks(t *testing.T) {
	b := setup(t)
	for _, id := range []string{"m-1", "a b", "\xff\x00", strings.Repeat("9", 5000), "=x", "#x", "ñ"} {
		require.Equal(t, 204, b.text(t, id, "hi"))
		require.Equal(t, 204, b.text(t, id, "hi"))
	}
	require.Len(t, b.events, 7)
	for _, ev := range b.events {
		require.Regexp(t, `^sms:plain:[!-~]{1,100}$`, ev.ID)
	}
}

func TestWhenTheStoreIsDownTheGatewayIsToldToComeAgain(t *testing.T) {
	b := setup(t)
	b.down = errors.New("disk full at /var/lib")
	form := url.Values{"from": {owner}, "to": {line}, "body": {"hi"}, "id": {"1"}}
	resp, said := b.post(t, "/in/sms/plain", formType, form.Encode())
	require.Equal(t, 503, resp.StatusCode)
	require.Equal(t, "5", resp.Header.Get("Retry-After"))
	require.NotContains(t, said, "disk", "what strangers see holds nothing of ours")
	b.down = nil
	require.Equal(t, 204, b.text(t, "1", "hi"))
	require.Len(t, b.events, 1)
}

func TestTwoShopsMayNotShareALine(t *testing.T) {
	b := &bench{desk: &desk{}, clock: clock.NewStill(noon)}
	other := shop.Demo()
	other.Shop.Key = "moss"
	_, err := sms.New(sms.Config{Shops: []*shop.File{shop.Demo(), other}, Clock: b.clock})
	require.ErrorContains(t, err, `"fernhollow" and "moss" both have the line +15415550100 at gateway "plain"`)
	other.Shop.Line = "+15415550101"
	b.inbound(t, shop.Demo(), other)
}
