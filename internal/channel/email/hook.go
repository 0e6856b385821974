package email

import (
	"errors"
	"io"
	"net/http"
	"strings"

	"github.com/gin-gonic/gin"

	"tubhand/internal/channel/email/letter"
	"tubhand/internal/mailbox"
)

// Posted is a message that was posted, for whoever verifies its signature.
type Posted struct {
	Header http.Header
	Query  string
	Path   string
	Body   []byte
}

// Mount adds the paths for posted mail and for one-click unsubscription to a router.
func (in *Inbound) Mount(r gin.IRoutes) {
	r.POST("/in/mail/:shop", in.post)
	r.GET("/out/mail/:shop/:token", in.asksToLeave)
	r.POST("/out/mail/:shop/:token", in.leave)
}

// post takes a raw message (RFC 5322) as the body of a request, signed as the shop file
// says.
func (in *Inbound) post(c *gin.Context) {
	b, ok := in.shops[c.Param("shop")]
	if !ok || b.Hook == nil {
		tell(c, http.StatusNotFound, "no mail is taken here; see mail: callbacks: in the shop file")
		return
	}
	raw, err := io.ReadAll(http.MaxBytesReader(c.Writer, c.Request.Body, letter.MaxBytes))
	var tooLong *http.MaxBytesError
	switch {
	case errors.As(err, &tooLong):
		tell(c, http.StatusRequestEntityTooLarge, "the message is too long")
		return
	case err != nil:
		tell(c, http.StatusBadRequest, "the body broke off")
		return
	}
	if err := b.Hook(&Posted{Header: c.Request.Header, Query: c.Request.URL.RawQuery, Path: c.Request.URL.Path, Body: raw}); err != nil {
		in.config.Log.Warn("posted mail is not signed as it should be", "shop", b.Shop.Key, "why", err.Error())
		tell(c, http.StatusUnauthorized, "not signed as it should be")
		return
	}
	a := in.take(c.Request.Context(), b, delivery{raw: raw, details: in.details(b, raw), relayed: b.Mail.Trust.ID != ""})
	switch a.kind {
	case later:
		c.Header("Retry-After", "60")
		tell(c, http.StatusServiceUnavailable, a.why)
	case refused:
		tell(c, http.StatusUnprocessableEntity, a.why)
	default:
		c.Status(http.StatusNoContent)
		c.Writer.WriteHeaderNow()
	}
}

// details finds what the message's own fields say of whom it is for: where it is posted
// there is no envelope.
func (in *Inbound) details(b *Box, raw []byte) []string {
	l, err := letter.Read(raw)
	if err != nil {
		return nil
	}
	var out []string
	for _, to := range l.To {
		if box, detail, ok := in.box(to); ok && box == b && detail != "" {
			out = append(out, detail)
		}
	}
	return out
}

func tell(c *gin.Context, status int, text string) {
	c.Header("X-Content-Type-Options", "nosniff")
	c.Data(status, "text/plain; charset=utf-8", []byte(text+"\n"))
}

// trusts tells whether a connection from an address is a relay of the shop's own.
func (b *Box) trusts(remote string) bool {
	return b.Mail.Trust.ID != "" && within(remote, b.Mail.Trust.From)
}

// rcpt reads an address as SMTP commands give it.
func rcpt(address string) (string, bool) {
	a, err := mailbox.Parse(strings.Trim(address, "<>"))
	return a, err == nil
}
