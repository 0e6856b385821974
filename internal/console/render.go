package console

import (
	"bytes"
	"context"
	"embed"
	"errors"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"strings"

	"github.com/gin-gonic/gin"

	"tubhand/internal/conversation"
	"tubhand/internal/staff"
)

//go:embed pages
var pageFiles embed.FS

// The pages; each is its file within layout.html, with the shared parts.
const (
	boardPage        = "board"
	conversationPage = "conversation"
	problemPage      = "problem"
	signInPage       = "sign-in"
	setUpPage        = "set-up"
	codesPage        = "codes"
	myPage           = "me"
	accountsPage     = "accounts"
	logPage          = "log"
)

func loadPages() (map[string]*template.Template, error) {
	pages := map[string]*template.Template{}
	for _, name := range append(append(toolPages(), ownerPages()...), boardPage, conversationPage, problemPage, signInPage, setUpPage, codesPage, myPage, accountsPage, logPage, feedPage) {
		t, err := template.New("layout.html").Option("missingkey=error").Funcs(formWords()).
			ParseFS(pageFiles, "pages/layout.html", "pages/parts.html", "pages/"+name+".html")
		if err != nil {
			return nil, fmt.Errorf("page %s: %w", name, err)
		}
		if more, _ := fs.Glob(pageFiles, "pages/"+name+"-*.html"); len(more) > 0 { // a long page's parts
			if t, err = t.ParseFS(pageFiles, more...); err != nil {
				return nil, fmt.Errorf("page %s: %w", name, err)
			}
		}
		pages[name] = t
	}
	return pages, nil
}

// frame is what the layout around each page shows.
type frame struct {
	Shop   string
	Base   string
	Title  string
	Style  string
	Script string
	Extra  string // a script beside it; "" for none
	Sheet  string // a style beside the pages' own; "" for none
	Here   string // the page's path below Base, for marking it in the menu
	Icon   string
	Live   string // where changes come from; "" on a page that is not live
	Now    moment
	Me     conversation.Person
	Staff  []conversation.Person // to choose from, where there is no sign-in
	Role   staff.Role            // of who is signed in; "" for nobody
	Back   string                // where choosing another name leads
	Page   any
}

func (s *site) frame(g *gin.Context, title string, page any) frame {
	f := frame{
		Shop: s.Shop.Name, Base: s.base, Title: title, Live: s.base + "live",
		Style: s.Asset(s.base, "board.css"), Script: s.Asset(s.base, "live.js"), Icon: s.Asset(s.base, "icon.svg"),
		Now: s.moment(s.Clock.Now()), Me: s.me(g), Staff: s.Shop.Staff,
		Back: g.Request.URL.RequestURI(), Here: strings.TrimPrefix(g.FullPath(), s.base), Page: page,
	}
	if s.Desk != nil {
		me, _ := session(g)
		f.Staff, f.Role = nil, me.Role
	}
	return f
}

// show renders a page whole before any of it is sent.
func (s *site) show(g *gin.Context, status int, page string, f frame) {
	var out bytes.Buffer
	if err := s.pages[page].Execute(&out, f); err != nil {
		s.Log.Error("render page", "page", page, "error", err)
		g.String(http.StatusInternalServerError, "This page could not be drawn. The log says why.")
		g.Abort()
		return
	}
	g.Data(status, "text/html; charset=utf-8", out.Bytes())
}

// problem answers with a plain sentence and ends the request.
func (s *site) problem(g *gin.Context, status int, words string) {
	f := s.frame(g, "That did not work", words)
	f.Live, f.Staff = "", nil
	s.show(g, status, problemPage, f)
	g.Abort()
}

// failed answers for an error that is not the caller's fault, and logs it.
func (s *site) failed(g *gin.Context, doing string, err error) {
	if errors.Is(err, context.Canceled) && g.Request.Context().Err() != nil {
		return // whoever asked has gone; there is nobody to tell
	}
	s.Log.Error("console", "doing", doing, "error", err)
	s.problem(g, http.StatusInternalServerError, "Something went wrong on our side. Nothing was lost; please try again.")
}
