package sms

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"strconv"
	"time"

	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/shop"
	"tubhand/internal/shop/field"
	"tubhand/internal/store"
)

// SendTimeout is how long an attempt to send may take.
const SendTimeout = 10 * time.Second

// Sender hands messages to one gateway as its description says. It is a sender for
// dispatch, safe for concurrent use.
type Sender struct {
	name     string
	rules    shop.Send
	request  *request
	client   *http.Client
	clock    clock.Clock
	throttle *throttle
	receipts Receipts // nil: the gateway's ids are not kept
	log      *slog.Logger
}

// NewSender makes a sender. The vault holds its secret; the gateway's ids of messages go
// to receipts where delivery reports come by them.
func NewSender(g shop.Gateway, v shop.Vault, receipts Receipts, c clock.Clock, log *slog.Logger) (*Sender, error) {
	secret := ""
	if a := g.Web.Send.Auth; a.As != shop.AuthNone {
		found, err := a.Secret.Read(v)
		if err != nil {
			return nil, fmt.Errorf("sms: gateway %q: send: auth: %w", g.Name, err)
		}
		secret = string(found)
	}
	q, err := newRequest(g, secret)
	if err != nil {
		return nil, err
	}
	s := &Sender{name: g.Name, rules: g.Web.Send, request: q, client: client(g.Web.Send.Timeout), clock: c, log: log,
		throttle: newThrottle(g.Web.Send.PerSecond)}
	if g.Web.Reports.ID.Given() {
		s.receipts = receipts
	}
	return s, nil
}

// SharePace has two senders keep one pace together: those of two shops at one gateway.
func (s *Sender) SharePace(with *Sender) {
	if s.rules.PerSecond == with.rules.PerSecond {
		s.throttle = with.throttle
	}
}

func client(timeout time.Duration) *http.Client {
	return &http.Client{
		Timeout: timeout,
		Transport: &http.Transport{
			Proxy:                 http.ProxyFromEnvironment,
			MaxIdleConnsPerHost:   512, // one for each worker, or each message opens a connection
			MaxIdleConns:          1024,
			IdleConnTimeout:       90 * time.Second,
			TLSHandshakeTimeout:   5 * time.Second,
			ResponseHeaderTimeout: timeout,
		},
		// A redirect would turn the POST into a GET, and take the secret to who knows where;
		// the address in the shop file is to be mended.
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}
}

// Send tries once to hand a shop's line over to the gateway. Any 2xx means that it has
// been taken, unless the description asks for more. What can pass is to be tried again: no
// answer, 408, 425, 429 and 5xx, not before Next where the gateway said so; what cannot
// pass has failed: every other answer. A message may go out twice, after a crash; its key
// is then the same.
func (s *Sender) Send(ctx context.Context, shop string, l conversation.Line) store.Result {
	key := key(shop, l.ID)
	if at := s.throttle.turn(key, s.clock.Now()); !at.IsZero() {
		return store.Result{Kind: store.Retry, Why: "the gateway takes no more for the moment", Next: at}
	}
	req, err := s.request.make(ctx, &parts{line: l, key: key})
	if err != nil {
		return store.Result{Kind: store.Failed, Why: "the gateway's address cannot be used"}
	}
	resp, err := s.client.Do(req)
	if err != nil {
		return store.Result{Kind: store.Retry, Why: "no answer from the gateway"}
	}
	defer resp.Body.Close()
	said := s.said(resp.Body)
	out := s.outcome(resp, said)
	if out.Kind == store.Sent && s.receipts != nil {
		if why := s.keep(ctx, shop, l.ID, said); why != "" {
			s.log.Warn("a message was taken, but no report can find it", "shop", shop, "gateway", s.name, "why", why)
		}
	}
	return out
}

// said reads the bounded answer, to its end so that the connection can be used again.
func (s *Sender) said(body io.Reader) *field.Place {
	raw, _ := io.ReadAll(io.LimitReader(body, maxRequest))
	if r := &s.rules; !r.ID.Given() && !r.TakenWhen.At.Given() && !r.LostWhen.At.Given() && !r.AgainWhen.At.Given() {
		return nil
	}
	v, _ := field.ParseJSON(raw) // what is no JSON holds nothing
	return &field.Place{Top: v, Item: v}
}

func (s *Sender) outcome(resp *http.Response, said *field.Place) store.Result {
	code, r := resp.StatusCode, &s.rules
	why := fmt.Sprintf("the gateway answered %d", code)
	again := store.Result{Kind: store.Retry, Why: why}
	taken := code >= 200 && code < 300
	if taken && len(r.Taken) > 0 {
		taken = false
		for _, t := range r.Taken {
			taken = taken || t == code
		}
	}
	switch {
	case met(said, r.AgainWhen):
		again.Why += " and asks to try again"
	case met(said, r.LostWhen):
		return store.Result{Kind: store.Failed, Why: why + " and says that it cannot arrive"}
	case taken && (!r.TakenWhen.At.Given() || met(said, r.TakenWhen)):
		return store.Result{Kind: store.Sent}
	case code >= 200 && code < 300:
		again.Why += " and does not say that it has taken it"
	case code >= 500 || code == 408 || code == 425 || code == 429:
	case code == 401 && r.Auth.As != shop.AuthNone:
		again.Why += ": the secret under send: auth: is not the right one" // which can be mended
	default:
		return store.Result{Kind: store.Failed, Why: why}
	}
	again.Next = s.retryAfter(resp.Header.Get("Retry-After"))
	if code == 429 {
		s.throttle.hold(again.Next, s.clock.Now())
	}
	return again
}

func met(said *field.Place, w shop.When) bool {
	return w.At.Given() && said != nil && holds(said, []shop.When{w})
}

// retryAfter reads the header: seconds or a date (RFC 9110, 10.2.3), a day ahead at
// most; zero when it says nothing.
func (s *Sender) retryAfter(h string) time.Time {
	now := s.clock.Now()
	at, err := http.ParseTime(h)
	if seconds, no := strconv.Atoi(h); no == nil {
		at, err = now.Add(time.Duration(min(seconds, 24*60*60))*time.Second), nil
	}
	if err != nil || !at.After(now) {
		return time.Time{}
	}
	return earlier(at, now.Add(24*time.Hour))
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}

// receiptKind is the kind of the documents that lead from a gateway's id to a line, and
// receiptLife how long they do; reports come within days.
const (
	receiptKind = "gateway_id"
	receiptLife = 7 * 24 * time.Hour
)

// keep notes which line the gateway's id stands for, and gives why it could not: the
// message has been taken, and only its report will find no line.
func (s *Sender) keep(ctx context.Context, shop, line string, said *field.Place) (why string) {
	id, _ := s.rules.ID.Text(said)
	if id == "" {
		return "the gateway's answer has no id where send: id: looks for it"
	}
	now := s.clock.Now()
	d := store.Document{Kind: receiptKind, Key: receipt(s.name, id), Value: []byte(line), Expires: now.Add(receiptLife)}
	ctx, done := context.WithTimeout(context.WithoutCancel(ctx), patience)
	defer done()
	err := s.receipts.PutDocument(ctx, shop, d, now)
	if errors.Is(err, store.ErrConflict) { // the gateway begins its ids anew: the last one counts
		if old, gone := s.receipts.Document(ctx, shop, receiptKind, d.Key, now); gone == nil {
			d.Version = old.Version
			err = s.receipts.PutDocument(ctx, shop, d, now)
		}
	}
	if err != nil {
		return err.Error()
	}
	return ""
}
