package sms

import (
	"errors"
	"io"
	"mime"
	"net/http"
	"net/url"

	"github.com/gin-gonic/gin"
)

// maxRequest bounds a callback's body; real ones are a few hundred bytes.
const maxRequest = 64 << 10

// readForm reads the bounded form of a request. Each field may come once: two senders
// or two ids in one request would leave it to chance which one counts.
func readForm(c *gin.Context) (map[string]string, *refusal) {
	kind, _, err := mime.ParseMediaType(c.GetHeader("Content-Type"))
	if err != nil || kind != "application/x-www-form-urlencoded" {
		return nil, refuse(http.StatusUnsupportedMediaType, "wants Content-Type application/x-www-form-urlencoded")
	}
	raw, err := io.ReadAll(http.MaxBytesReader(c.Writer, c.Request.Body, maxRequest))
	var tooLong *http.MaxBytesError
	switch {
	case errors.As(err, &tooLong):
		return nil, refuse(http.StatusRequestEntityTooLarge, "more than 65536 bytes")
	case err != nil:
		return nil, refuse(http.StatusBadRequest, "the body broke off")
	}
	return parseForm(string(raw))
}

func parseForm(raw string) (map[string]string, *refusal) {
	values, err := url.ParseQuery(raw)
	if err != nil {
		return nil, refuse(http.StatusBadRequest, "the body is no well-formed form: see to its percent signs and semicolons")
	}
	form := make(map[string]string, len(values))
	for field, v := range values {
		if len(v) > 1 && known(field) {
			return nil, refuse(http.StatusBadRequest, "field "+field+" is there more than once")
		}
		form[field] = v[0]
	}
	return form, nil
}

// known tells the fields that are read; others, such as a gateway's own, may repeat.
func known(field string) bool {
	switch field {
	case "from", "to", "body", "id", "key", "status":
		return true
	}
	return false
}
