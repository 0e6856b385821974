package sms

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"net/http"
	"slices"
	"strings"

	"tubhand/internal/shop"
)

// request is a gateway's outbound request, cut up once.
type request struct {
	method  string
	url     template
	query   []pair // of the address
	form    []pair
	json    template
	kind    string // content type; "" for no body
	headers []pair
	auth    shop.Auth
	secret  string
	reports string // where the gateway sends reports
}

type pair struct {
	name  string
	value template
}

func pairs(m map[string]string) []pair {
	var out []pair
	for _, name := range slices.Sorted(maps.Keys(m)) {
		out = append(out, pair{name, newTemplate(m[name])})
	}
	return out
}

func newRequest(g shop.Gateway, secret string) (*request, error) {
	s := &g.Web.Send
	q := &request{method: s.Method, url: newTemplate(s.URL), query: pairs(s.Query), headers: pairs(s.Headers), auth: s.Auth, secret: secret}
	if s.KeyHeader != "" {
		q.headers = append(q.headers, pair{s.KeyHeader, newTemplate("{key}")})
	}
	if s.Auth.As == shop.AuthQuery {
		q.query = append(q.query, pair{s.Auth.Name, newTemplate("{secret}")})
	}
	at := "/in/status/"
	if g.Web.Reports.SameURL {
		at = "/in/sms/"
	}
	q.reports = g.Web.PublicURL + at + g.Name
	switch {
	case s.JSON != nil:
		body, err := json.Marshal(s.JSON)
		if err != nil {
			return nil, fmt.Errorf("sms: gateway %q: send: json: %w", g.Name, err)
		}
		q.json, q.kind = newTemplate(string(body)), "application/json"
	case s.Form != nil:
		q.form, q.kind = pairs(s.Form), "application/x-www-form-urlencoded"
	}
	return q, nil
}

// make is the request for one message.
func (q *request) make(ctx context.Context, p *parts) (*http.Request, error) {
	p.secret, p.reportURL = q.secret, q.reports
	address := q.url.fill(p, inURL)
	if len(q.query) > 0 {
		joint := "?"
		if strings.Contains(address, "?") {
			joint = "&"
		}
		address += joint + encode(q.query, p)
	}
	var body io.Reader
	switch {
	case q.json != nil:
		body = strings.NewReader(q.json.fill(p, inJSON))
	case q.form != nil:
		body = strings.NewReader(encode(q.form, p))
	}
	r, err := http.NewRequestWithContext(ctx, q.method, address, body)
	if err != nil {
		return nil, err
	}
	r.Header.Set("User-Agent", "tubhand")
	if q.kind != "" {
		r.Header.Set("Content-Type", q.kind)
	}
	for _, h := range q.headers {
		r.Header.Set(h.name, h.value.fill(p, inHeader))
	}
	authorize(r, q.auth, q.secret)
	return r, nil
}

// authorize adds what proves who sends, where it stands in a header.
func authorize(r *http.Request, a shop.Auth, secret string) {
	switch a.As {
	case shop.AuthBasic:
		r.SetBasicAuth(a.User, secret)
	case shop.AuthBearer:
		r.Header.Set("Authorization", "Bearer "+secret)
	case shop.AuthHeader:
		r.Header.Set(a.Name, secret)
	}
}

// encode writes fields as a form does.
func encode(fields []pair, p *parts) string {
	var b strings.Builder
	for i, f := range fields {
		if i > 0 {
			b.WriteByte('&')
		}
		b.WriteString(inURL(f.name) + "=" + f.value.fill(p, inURL))
	}
	return b.String()
}
