package console

import (
	"net/http"
	"net/url"
	"strings"

	"github.com/gin-gonic/gin"

	"tubhand/internal/staff"
)

// accountsView is the managers' page of who may sign in.
type accountsView struct {
	Accounts []accountView
	People   []personView // of the shop file, without an account yet
	Roles    []staff.Role
	Link     string // of an account that was just added or reset
	For      string // whose
	Trouble  string
}

type accountView struct {
	staff.Account
	LastAt moment
	Me     bool
}

type personView struct{ Key, Name string }

func (s *site) accountsPage(g *gin.Context) { s.showAccounts(g, http.StatusOK, accountsView{}) }

func (s *site) showAccounts(g *gin.Context, status int, v accountsView) {
	all, err := s.Desk.Accounts(g.Request.Context())
	if err != nil {
		s.failed(g, "list accounts", err)
		return
	}
	v.Roles = staff.Roles()
	me, there := s.me(g).Key, map[string]bool{}
	for _, a := range all {
		there[a.Key] = true
		v.Accounts = append(v.Accounts, accountView{Account: a, LastAt: s.moment(a.Last), Me: a.Key == me})
	}
	for _, p := range s.Shop.Staff {
		if !there[p.Key] {
			v.People = append(v.People, personView{p.Key, p.Name})
		}
	}
	s.show(g, status, accountsPage, s.still(g, "Accounts", v))
}

// changed answers what a manager did to an account; link is of a set-up page, if one was made.
func (s *site) changed(g *gin.Context, key, code string, err error) {
	s.names.forget()
	status, words := s.explain(g, err)
	switch {
	case words != "":
		s.showAccounts(g, status, accountsView{Trouble: words})
	case code != "":
		s.showAccounts(g, status, accountsView{For: s.staffName(key), Link: s.origin(g) + s.base + "set-up?code=" + url.QueryEscape(code)})
	default:
		g.Redirect(http.StatusSeeOther, s.base+"accounts")
	}
}

// origin is where browsers find the console: as it was told, else as it was asked for.
func (s *site) origin(g *gin.Context) string {
	if s.Desk.Origin != "" {
		return s.Desk.Origin
	}
	if s.Secure {
		return "https://" + g.Request.Host
	}
	return "http://" + g.Request.Host
}

func (s *site) addAccount(g *gin.Context) {
	name, key := strings.TrimSpace(g.PostForm("name")), strings.TrimSpace(g.PostForm("key"))
	if key == "" {
		key = staff.KeyFor(name)
	}
	for _, p := range s.Shop.Staff {
		if g.PostForm("key") == "" && strings.EqualFold(p.Name, name) {
			key = p.Key // so that what they do by text and here is the same person's
		}
	}
	code, err := s.Desk.Add(g.Request.Context(), s.me(g).Key, key, name, staff.Role(g.PostForm("role")))
	s.changed(g, key, code, err)
}

func (s *site) setRole(g *gin.Context) {
	s.changed(g, "", "", s.Desk.SetRole(g.Request.Context(), s.me(g).Key, g.PostForm("key"), staff.Role(g.PostForm("role"))))
}

func (s *site) resetAccount(g *gin.Context) {
	key := g.PostForm("key")
	code, err := s.Desk.Reset(g.Request.Context(), s.me(g).Key, key)
	s.changed(g, key, code, err)
}

func (s *site) removeAccount(g *gin.Context) {
	s.changed(g, "", "", s.Desk.Remove(g.Request.Context(), s.me(g).Key, g.PostForm("key")))
}
