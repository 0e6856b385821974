package sms

import (
	"errors"
	"io"
	"mime"
	"net/http"
	"strings"

	"github.com/gin-gonic/gin"

	"tubhand/internal/channel/sms/sign"
	"tubhand/internal/shop/field"
)

// maxRequest bounds a callback's body; real ones are a few hundred bytes.
const maxRequest = 64 << 10

// Callback is one request of a gateway as it came.
type Callback struct {
	Method string
	URI    string // path and query, as in the request line
	Header http.Header
	Body   []byte
}

// receive reads the bounded body of a request that comes in the format.
func receive(c *gin.Context, format string) (*Callback, *refusal) {
	r := c.Request
	cb := &Callback{Method: r.Method, URI: r.URL.RequestURI(), Header: r.Header}
	if no := cb.suits(format); no != nil {
		return nil, no
	}
	raw, err := io.ReadAll(http.MaxBytesReader(c.Writer, r.Body, maxRequest))
	var tooLong *http.MaxBytesError
	switch {
	case errors.As(err, &tooLong):
		return nil, refuse(http.StatusRequestEntityTooLarge, "more than 65536 bytes")
	case err != nil:
		return nil, refuse(http.StatusBadRequest, "the body broke off")
	}
	cb.Body = raw
	return cb, nil
}

// suits tells whether the method and the kind of the body are those of the format.
func (cb *Callback) suits(format string) *refusal {
	want := http.MethodPost
	if format == field.Query {
		want = http.MethodGet
	}
	if cb.Method != want && (format != field.Query || cb.Method != http.MethodPost) {
		return refuse(http.StatusMethodNotAllowed, "wants "+want)
	}
	kind, _, err := mime.ParseMediaType(cb.Header.Get("Content-Type"))
	switch {
	case format == field.Form && (err != nil || kind != "application/x-www-form-urlencoded"):
		return refuse(http.StatusUnsupportedMediaType, "wants Content-Type application/x-www-form-urlencoded")
	case format == field.JSON && (err != nil || kind != "application/json" && !strings.HasSuffix(kind, "+json")):
		return refuse(http.StatusUnsupportedMediaType, "wants Content-Type application/json")
	}
	return nil
}

// query is the fields of the address.
func (cb *Callback) query() (field.Pairs, error) {
	_, raw, _ := strings.Cut(cb.URI, "?")
	return field.ParseForm(raw)
}

// signable is what of the callback can be signed; base is how the gateway knows the server.
func (cb *Callback) signable(base string) (*sign.Request, error) {
	query, err := cb.query()
	if err != nil {
		return nil, err
	}
	return &sign.Request{URL: base + cb.URI, Header: cb.Header, Query: query, Body: cb.Body, Form: func() (field.Pairs, error) {
		kind, _, _ := mime.ParseMediaType(cb.Header.Get("Content-Type"))
		if kind != "application/x-www-form-urlencoded" {
			return nil, nil
		}
		return field.ParseForm(string(cb.Body))
	}}, nil
}
