package email

import (
	"context"
	"net/http"
	"strings"

	"github.com/gin-gonic/gin"

	"tubhand/internal/conversation"
)

// leave takes a one-click unsubscription (RFC 8058): a POST with a token in its path, no
// cookie, no question, no redirect. It does what the text STOP does, by the same way.
func (in *Inbound) leave(c *gin.Context) {
	b, address, ok := in.leaver(c)
	if !ok {
		return
	}
	ctx, done := context.WithTimeout(context.WithoutCancel(c.Request.Context()), patience)
	defer done()
	ev := conversation.Event{
		ID: "mail:leave:" + digest(address, in.config.Clock.Now().UTC().Format("2006-01-02T15:04")), Kind: conversation.TextIn, From: address,
		To: b.Mail.Address, Gateway: conversation.MailGateway, Text: "STOP", TimeZone: b.Shop.TimeZone, Region: b.Shop.Region,
		Remark: "By the unsubscribe link of an e-mail.",
	}
	if a := in.hand(ctx, b, ev); a.kind != taken {
		c.Header("Retry-After", "60")
		tell(c, http.StatusServiceUnavailable, "That did not work just now. Please try again in a minute.")
		return
	}
	in.page(c, b, "left")
}

// asksToLeave answers a GET with a page that asks: programs that look through mail open
// links, and must not unsubscribe anyone.
func (in *Inbound) asksToLeave(c *gin.Context) {
	if b, _, ok := in.leaver(c); ok {
		in.page(c, b, "leave")
	}
}

func (in *Inbound) leaver(c *gin.Context) (*Box, string, bool) {
	b, ok := in.shops[c.Param("shop")]
	if !ok {
		tell(c, http.StatusNotFound, "no such link")
		return nil, "", false
	}
	address, ok := b.Key.Left(c.Param("token"), b.Shop.Key)
	if !ok {
		tell(c, http.StatusNotFound, "no such link")
		return nil, "", false
	}
	return b, address, true
}

// page shows one of the two pages, in the shop's language.
func (in *Inbound) page(c *gin.Context, b *Box, name string) {
	var page strings.Builder
	if err := in.pages.ExecuteTemplate(&page, name+"."+language(b.Shop.Language), struct{ Shop string }{b.Shop.Name}); err != nil {
		in.config.Log.Error("a page cannot be shown", "page", name, "error", err)
		tell(c, http.StatusInternalServerError, "")
		return
	}
	c.Header("Cache-Control", "no-store")
	c.Header("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'; form-action 'self'; frame-ancestors 'none'")
	c.Header("X-Content-Type-Options", "nosniff")
	c.Header("Referrer-Policy", "no-referrer")
	c.Data(http.StatusOK, "text/html; charset=utf-8", []byte(page.String()))
}

func language(l string) string {
	if l == "es" {
		return "es"
	}
	return "en"
}
