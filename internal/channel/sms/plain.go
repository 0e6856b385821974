package sms

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"time"

	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

// SendTimeout is how long an attempt to send may take.
const SendTimeout = 10 * time.Second

// Plain sends through the plain gateway: JSON from, to, body and key, posted to a URL.
// It is a sender for dispatch, safe for concurrent use.
type Plain struct {
	url    string
	client *http.Client
	clock  clock.Clock
}

// NewPlain makes a sender to url. The clock reads a Retry-After that is a date.
func NewPlain(url string, c clock.Clock) *Plain {
	return &Plain{url: url, clock: c, client: &http.Client{
		Timeout: SendTimeout,
		Transport: &http.Transport{
			Proxy:                 http.ProxyFromEnvironment,
			MaxIdleConnsPerHost:   512, // one for each worker, or each message opens a connection
			MaxIdleConns:          1024,
			IdleConnTimeout:       90 * time.Second,
			TLSHandshakeTimeout:   5 * time.Second,
			ResponseHeaderTimeout: SendTimeout,
		},
		// A redirect would turn the POST into a GET; the address in the shop file is to be mended.
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}}
}

// message is the outbound request of the plain gateway.
type message struct {
	From string `json:"from"`
	To   string `json:"to"`
	Body string `json:"body"`
	Key  string `json:"key"`
}

// Send tries once to hand a shop's line over to the gateway. Any 2xx means that it has
// been taken. What can pass is to be tried again: no answer, 408, 425, 429 and 5xx,
// not before Next where the gateway said so; what cannot pass has failed: every other
// answer. A message may go out twice, after a crash; its key is then the same.
func (p *Plain) Send(ctx context.Context, shop string, l conversation.Line) store.Result {
	key := key(shop, l.ID)
	body, err := json.Marshal(message{From: l.From, To: l.To, Body: l.Text, Key: key})
	if err != nil {
		return store.Result{Kind: store.Failed, Why: "cannot be written as JSON"}
	}
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, p.url, bytes.NewReader(body))
	if err != nil {
		return store.Result{Kind: store.Failed, Why: "the gateway's address cannot be used"}
	}
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("Idempotency-Key", key)
	req.Header.Set("User-Agent", "tubhand")
	resp, err := p.client.Do(req)
	if err != nil {
		return store.Result{Kind: store.Retry, Why: "no answer from the gateway"}
	}
	defer resp.Body.Close()
	_, _ = io.CopyN(io.Discard, resp.Body, 64<<10) // so that the connection can be used again
	return p.outcome(resp)
}

func (p *Plain) outcome(resp *http.Response) store.Result {
	s := resp.StatusCode
	why := fmt.Sprintf("the gateway answered %d", s)
	switch {
	case s >= 200 && s < 300:
		return store.Result{Kind: store.Sent}
	case s >= 500 || s == 408 || s == 425 || s == 429:
		return store.Result{Kind: store.Retry, Why: why, Next: p.retryAfter(resp.Header.Get("Retry-After"))}
	}
	return store.Result{Kind: store.Failed, Why: why}
}

// retryAfter reads the header: seconds or a date (RFC 9110, 10.2.3), a day ahead at
// most; zero when it says nothing.
func (p *Plain) retryAfter(h string) time.Time {
	now := p.clock.Now()
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
