package console

import (
	"fmt"
	"net/http"
	"net/url"
	"path"
	"strings"
	"unicode/utf8"

	"github.com/gin-gonic/gin"

	"tubhand/internal/conversation"
)

// whoCookie remembers, where there is no sign-in, who at the shop uses this browser. It is
// a choice, not a proof.
const whoCookie = "tubhand_who"

// chosen is the member of staff who uses this browser: as chosen, else the first.
func (c *Console) chosen(g *gin.Context) conversation.Person {
	if key, err := g.Cookie(whoCookie); err == nil {
		if p, ok := c.person(key); ok {
			return p
		}
	}
	if len(c.Shop.Staff) > 0 {
		return c.Shop.Staff[0]
	}
	return conversation.Person{Key: "shop", Name: "the shop"}
}

func (c *Console) person(key string) (conversation.Person, bool) {
	for _, p := range c.Shop.Staff {
		if p.Key == key {
			return p, true
		}
	}
	return conversation.Person{}, false
}

// who keeps the choice of a name in a cookie and goes back to the page.
func (s *site) who(g *gin.Context) {
	p, ok := s.person(g.PostForm("who"))
	if !ok {
		s.problem(g, http.StatusUnprocessableEntity, "Nobody of that name works at this shop.")
		return
	}
	http.SetCookie(g.Writer, &http.Cookie{
		Name: whoCookie, Value: p.Key, Path: s.base, MaxAge: 365 * 24 * 3600, HttpOnly: true, SameSite: http.SameSiteStrictMode,
	})
	g.Redirect(http.StatusSeeOther, s.ownPath(g.PostForm("back")))
}

// ownPath keeps a path that came with a form within the console.
func (s *site) ownPath(back string) string {
	u, err := url.Parse(back)
	if err != nil || u.Host != "" || u.Scheme != "" || !strings.HasPrefix(u.Path, s.base) || u.Path != s.base && path.Clean(u.Path) != u.Path {
		return s.base
	}
	return u.RequestURI()
}

// nameOf is what to call an owner.
func nameOf(conv *conversation.Conversation) string {
	if conv.Owner.Name != "" {
		return conv.Owner.Name
	}
	return numberWords(conv.ID)
}

// numberWords writes a North American number the usual way and others as they are.
func numberWords(address string) string {
	if len(address) == 12 && strings.HasPrefix(address, "+1") {
		return fmt.Sprintf("(%s) %s-%s", address[2:5], address[5:8], address[8:])
	}
	return address
}

// speaker names who said a line.
func (c *Console) speaker(l *conversation.Line, conv *conversation.Conversation) string {
	switch l.Direction {
	case conversation.In:
		return nameOf(conv)
	case conversation.Out:
		return "Tub helper"
	case conversation.Staff:
		return c.staffName(l.By)
	case conversation.Note:
		return "Note"
	case conversation.Page:
		return "Call to " + c.staffName(l.By)
	}
	return ""
}

// shorten cuts a text at a whole word, for a glance.
func shorten(text string, most int) string {
	text = strings.Join(strings.Fields(text), " ")
	if utf8.RuneCountInString(text) <= most {
		return text
	}
	cut := string([]rune(text)[:most])
	if at := strings.LastIndexByte(cut, ' '); at > most/2 {
		cut = cut[:at]
	}
	return cut + " ..."
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
