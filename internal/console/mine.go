package console

import (
	"net/http"
	"net/url"

	"github.com/gin-gonic/gin"

	"tubhand/internal/staff"
)

// myView is a person's own page.
type myView struct {
	Account  staff.Account
	Since    moment
	Fresh    bool
	Keys     []keyView
	Passkeys bool // can be made here
	Trouble  string
}

type keyView struct {
	ID         string
	Made, Used moment
	Never      bool
}

func (s *site) myPage(g *gin.Context) { s.showMine(g, http.StatusOK, "") }

func (s *site) showMine(g *gin.Context, status int, trouble string) {
	me, _ := session(g)
	v := myView{
		Account: me.Account, Since: s.moment(me.Started), Fresh: me.Fresh(s.Clock.Now()),
		Passkeys: s.passkeys(g), Trouble: trouble,
	}
	for _, p := range me.Passkeys {
		v.Keys = append(v.Keys, keyView{ID: p.ID, Made: s.moment(p.Made), Used: s.moment(p.Used), Never: p.Used.IsZero()})
	}
	s.show(g, status, myPage, s.still(g, me.Name, v))
}

// mine answers what somebody did to their own account: the page again, with what was wrong.
func (s *site) mine(g *gin.Context, to string, err error) {
	if status, words := s.explain(g, err); words != "" {
		s.showMine(g, status, words)
		return
	}
	g.Redirect(http.StatusSeeOther, to)
}

func (s *site) signOutEverywhere(g *gin.Context) {
	me, _ := session(g)
	err := s.Desk.SignOutEverywhere(g.Request.Context(), me.Key)
	if err == nil {
		s.keep(g, "")
	}
	s.mine(g, s.base+"sign-in", err)
}

// renew leads to a set-up page of one's own.
func (s *site) renew(g *gin.Context) {
	me, _ := session(g)
	code, err := s.Desk.Renew(g.Request.Context(), me)
	s.mine(g, s.base+"set-up?code="+url.QueryEscape(code), err)
}

func (s *site) askNewPasskey(g *gin.Context) {
	me, _ := session(g)
	ask, err := s.Desk.AskNew(g.Request.Context(), me)
	s.reply(g, ask, err)
}

func (s *site) answerNewPasskey(g *gin.Context) {
	e, ok := s.exchanged(g)
	if !ok {
		return
	}
	me, _ := session(g)
	err := s.Desk.AddPasskey(g.Request.Context(), me, e.Ticket, e.Answer)
	s.reply(g, gin.H{"to": s.base + "me"}, err)
}

func (s *site) dropPasskey(g *gin.Context) {
	me, _ := session(g)
	s.mine(g, s.base+"me", s.Desk.RemovePasskey(g.Request.Context(), me, g.PostForm("id")))
}
