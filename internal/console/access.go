package console

import (
	"errors"
	"net"
	"net/http"
	"net/url"
	"strings"

	"github.com/gin-gonic/gin"

	"tubhand/internal/conversation"
	"tubhand/internal/staff"
)

// route is one of the console's addresses, and what whoever asks for it must be.
type route struct {
	method, path string
	need         staff.Role // "": anyone, signed in or not
	desk         bool       // only where there is a sign-in
	do           func(*site, *gin.Context)
}

// routes lists all of the console's addresses: a viewer sees, staff act, a manager looks
// after accounts and reads the log. What is not listed here is not served.
func routes() []route {
	const anyone, see, act, manage = "", staff.Viewer, staff.Member, staff.Manager
	return []route{
		{http.MethodGet, "/", see, false, (*site).board},
		{http.MethodGet, "/conversation", see, false, (*site).conversation},
		{http.MethodGet, "/live", see, false, (*site).live},
		{http.MethodPost, "/act", act, false, (*site).act},
		{http.MethodPost, "/count", see, false, (*site).count},
		{http.MethodPost, "/here", act, false, (*site).here},
		{http.MethodGet, "/assets/:name", anyone, false, (*site).asset},

		{http.MethodGet, "/owners", see, false, (*site).owners},
		{http.MethodGet, "/owners.csv", act, false, (*site).exportOwners},
		{http.MethodGet, "/owners/add", act, false, (*site).addOwnerPage},
		{http.MethodPost, "/owners/add", act, false, (*site).addOwner},
		{http.MethodGet, "/owners/import", act, false, (*site).importForm},
		{http.MethodPost, "/owners/import", act, false, (*site).importOwners},
		{http.MethodGet, "/owners/card", see, false, (*site).cardPage},
		{http.MethodGet, "/due", see, false, (*site).duePage},
		{http.MethodGet, "/feed", manage, true, (*site).feedPage},
		{http.MethodPost, "/feed/new", manage, true, (*site).newFeed},
		{http.MethodPost, "/feed/end", manage, true, (*site).endFeed},
		{http.MethodGet, "/feed/:key", anyone, true, (*site).feed},

		{http.MethodGet, "/flows", see, false, (*site).flowList},
		{http.MethodGet, "/flow", see, false, (*site).flowPage},
		{http.MethodGet, "/flow/picture", see, false, (*site).flowPicture},
		{http.MethodGet, "/try", see, false, (*site).tryPage},
		{http.MethodPost, "/try", see, false, (*site).tryText},
		{http.MethodGet, "/reports", see, false, (*site).reports},
		{http.MethodGet, "/reports/csv", see, false, (*site).reportCSV},
		{http.MethodGet, "/rehearsals", see, false, (*site).rehearsals},
		{http.MethodGet, "/rehearsal", see, false, (*site).rehearsal},
		{http.MethodGet, "/settings", act, false, (*site).settings},

		{http.MethodGet, "/sign-in", anyone, true, (*site).signInPage},
		{http.MethodPost, "/sign-in", anyone, true, (*site).signIn},
		{http.MethodPost, "/sign-in/ask", anyone, true, (*site).askPasskey},
		{http.MethodPost, "/sign-in/answer", anyone, true, (*site).answerPasskey},
		{http.MethodGet, "/set-up", anyone, true, (*site).setUpPage},
		{http.MethodPost, "/set-up", anyone, true, (*site).setUp},
		{http.MethodPost, "/set-up/ask", anyone, true, (*site).askSetUp},
		{http.MethodPost, "/set-up/answer", anyone, true, (*site).answerSetUp},

		{http.MethodPost, "/sign-out", see, true, (*site).signOut},
		{http.MethodGet, "/me", see, true, (*site).myPage},
		{http.MethodPost, "/me/everywhere", see, true, (*site).signOutEverywhere},
		{http.MethodPost, "/me/renew", see, true, (*site).renew},
		{http.MethodPost, "/me/ask", see, true, (*site).askNewPasskey},
		{http.MethodPost, "/me/answer", see, true, (*site).answerNewPasskey},
		{http.MethodPost, "/me/passkey", see, true, (*site).dropPasskey},

		{http.MethodGet, "/accounts", manage, true, (*site).accountsPage},
		{http.MethodPost, "/accounts/add", manage, true, (*site).addAccount},
		{http.MethodPost, "/accounts/role", manage, true, (*site).setRole},
		{http.MethodPost, "/accounts/reset", manage, true, (*site).resetAccount},
		{http.MethodPost, "/accounts/remove", manage, true, (*site).removeAccount},
		{http.MethodGet, "/log", manage, true, (*site).logPage},
	}
}

// Need tells which role one of the console's addresses needs, by its method and its path
// below where the console is mounted: "" is anyone; ok is false for what is not served.
func Need(method, path string) (role staff.Role, ok bool) {
	for _, r := range routes() {
		if r.method == method && r.path == path {
			return r.need, true
		}
	}
	return "", false
}

// sessionKey is where a request keeps who asks.
const sessionKey = "staff session"

// admit lets a request through whose sender may do what it needs.
func (s *site) admit(need staff.Role) gin.HandlerFunc {
	return func(g *gin.Context) {
		if s.Desk == nil || need == "" {
			return
		}
		me, err := s.Desk.Session(g.Request.Context(), s.token(g))
		switch {
		case errors.Is(err, staff.ErrNobody):
			s.turnAway(g)
			return
		case err != nil:
			s.failed(g, "look who is signed in", err)
			return
		}
		g.Set(sessionKey, me)
		if !me.Role.May(need) {
			s.problem(g, http.StatusForbidden, "Your role is "+string(me.Role)+", and this needs "+string(need)+". Ask a manager of the shop.")
		}
	}
}

// turnAway sends a person to the sign-in page. A script of a page that is still open is
// told instead, so that what is typed there stays.
func (s *site) turnAway(g *gin.Context) {
	script := g.GetHeader("Sec-Fetch-Dest") == "empty" || strings.Contains(g.GetHeader("Accept"), "text/event-stream")
	if g.Request.Method != http.MethodGet || script {
		s.problem(g, http.StatusUnauthorized, "You are not signed in any more, so nothing was done. Sign in on another tab, then try again here: your words are still here.")
		return
	}
	to := s.base + "sign-in"
	if back := s.ownPath(g.Request.URL.RequestURI()); back != s.base {
		to += "?back=" + url.QueryEscape(back)
	}
	g.Redirect(http.StatusSeeOther, to)
	g.Abort()
}

// session is who asks, where somebody is signed in.
func session(g *gin.Context) (staff.Session, bool) {
	v, _ := g.Get(sessionKey)
	me, ok := v.(staff.Session)
	return me, ok
}

// me is the person at the shop who asks: who is signed in, or where there is no sign-in
// whoever this browser has chosen.
func (s *site) me(g *gin.Context) conversation.Person {
	if s.Desk == nil {
		return s.chosen(g)
	}
	me, _ := session(g)
	return conversation.Person{Key: me.Key, Name: me.Name}
}

// cookieName is the cookie of this shop's sessions. Its prefix has browsers take it only
// from this very host and over TLS.
func (s *site) cookieName() string {
	name := "tubhand-" + s.Shop.Key
	if s.Secure {
		return "__Host-" + name
	}
	return name
}

func (s *site) token(g *gin.Context) string {
	token, _ := g.Cookie(s.cookieName())
	return token
}

// keep gives the browser its session; an empty one takes it away.
func (s *site) keep(g *gin.Context, token string) {
	c := &http.Cookie{
		Name: s.cookieName(), Value: token, Path: "/", MaxAge: int(staff.Longest.Seconds()),
		Secure: s.Secure, HttpOnly: true, SameSite: http.SameSiteLaxMode,
	}
	if token == "" {
		c.MaxAge = -1
	}
	http.SetCookie(g.Writer, c)
}

// address is where a request came from: the peer, or where a proxy stands before the
// console, the last that it put down.
func (s *site) address(g *gin.Context) string {
	if s.Proxied {
		all := g.Request.Header.Values("X-Forwarded-For")
		if len(all) > 0 {
			list := strings.Split(all[len(all)-1], ",")
			return strings.TrimSpace(list[len(list)-1])
		}
	}
	host, _, err := net.SplitHostPort(g.Request.RemoteAddr)
	if err != nil {
		return g.Request.RemoteAddr
	}
	return host
}
