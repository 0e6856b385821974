package console

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"tubhand/internal/staff"
)

// signInView is the page where staff sign in.
type signInView struct {
	Back, Name, Trouble string
	Passkeys            bool
}

func (s *site) signInPage(g *gin.Context) {
	if _, err := s.Desk.Session(g.Request.Context(), s.token(g)); err == nil {
		g.Redirect(http.StatusSeeOther, s.ownPath(g.Query("back")))
		return
	}
	s.showSignIn(g, http.StatusOK, signInView{Back: g.Query("back")})
}

func (s *site) showSignIn(g *gin.Context, status int, v signInView) {
	v.Back, v.Passkeys = s.ownPath(v.Back), s.passkeys(g)
	s.show(g, status, signInPage, s.still(g, "Sign in", v))
}

// passkeys tells whether a browser can use passkeys where it is: they are bound to the name
// that the console was told. A proxy may have put another one into the request.
func (s *site) passkeys(g *gin.Context) bool {
	here := strings.HasSuffix(s.Desk.Origin, "://"+g.Request.Host)
	return s.Desk.Passkeys() && (here || s.Proxied)
}

// still is the frame of a page that is not kept current, with the script for passkeys.
func (s *site) still(g *gin.Context, title string, page any) frame {
	f := s.frame(g, title, page)
	f.Live, f.Extra = "", s.Asset(s.base, "passkey.js")
	return f
}

func (s *site) signIn(g *gin.Context) {
	v := signInView{Back: g.PostForm("back"), Name: shorten(g.PostForm("name"), 40)}
	token, err := s.Desk.SignIn(g.Request.Context(), staff.Attempt{
		Name: g.PostForm("name"), Password: g.PostForm("password"), Code: g.PostForm("code"), Address: s.address(g),
	})
	status, words := s.explain(g, err)
	if words != "" {
		v.Trouble = words
		s.showSignIn(g, status, v)
		return
	}
	s.keep(g, token)
	g.Redirect(http.StatusSeeOther, s.ownPath(v.Back))
}

// explain tells a person what an error of the desk means, and sets its status. What is
// nobody's fault is logged.
func (s *site) explain(g *gin.Context, err error) (status int, words string) {
	var many *staff.TooMany
	var refused staff.Refusal
	switch {
	case err == nil:
		return http.StatusOK, ""
	case errors.As(err, &many):
		left := max(many.Until.Sub(s.Clock.Now()), time.Second)
		g.Header("Retry-After", strconv.Itoa(int(left.Seconds())+1))
		return http.StatusTooManyRequests, fmt.Sprintf("That was tried too often. Try again in %s, or use a passkey.", span(left+time.Minute))
	case errors.Is(err, staff.ErrSignIn):
		return http.StatusUnauthorized, "That did not fit: the name, the password or the code is not right."
	case errors.Is(err, staff.ErrLink):
		return http.StatusGone, "This link is used up or too old. Ask a manager of the shop for a new one."
	case errors.Is(err, staff.ErrNoAccount):
		return http.StatusNotFound, "There is no such account any more."
	case errors.As(err, &refused):
		return http.StatusUnprocessableEntity, string(refused)
	}
	s.Log.Error("console", "doing", "accounts", "error", err)
	return http.StatusInternalServerError, "Something went wrong on our side. Please try again."
}

func (s *site) signOut(g *gin.Context) {
	if err := s.Desk.SignOut(g.Request.Context(), s.token(g)); err != nil {
		s.failed(g, "sign out", err)
		return
	}
	s.keep(g, "")
	g.Redirect(http.StatusSeeOther, s.base+"sign-in")
}

// exchange is what a page's script sends for a passkey.
type exchange struct {
	Code   string          `json:"code"` // of a set-up link
	Back   string          `json:"back"`
	Ticket string          `json:"ticket"`
	Answer json.RawMessage `json:"answer"`
}

// exchanged reads what the script sent.
func (s *site) exchanged(g *gin.Context) (e exchange, ok bool) {
	if err := json.NewDecoder(g.Request.Body).Decode(&e); err != nil {
		g.JSON(http.StatusBadRequest, gin.H{"problem": "That could not be read. Reload the page and try again."})
		return e, false
	}
	return e, true
}

// reply answers the script: with what it asked for, or with a sentence for the person.
func (s *site) reply(g *gin.Context, answer any, err error) {
	status, words := s.explain(g, err)
	if words != "" {
		answer = gin.H{"problem": words}
		if errors.Is(err, staff.ErrSignIn) {
			answer = gin.H{"problem": "That passkey does not open this shop's console."}
		}
	}
	g.JSON(status, answer)
}

func (s *site) askPasskey(g *gin.Context) {
	ask, err := s.Desk.AskPasskey(g.Request.Context(), s.address(g))
	s.reply(g, ask, err)
}

func (s *site) answerPasskey(g *gin.Context) {
	e, ok := s.exchanged(g)
	if !ok {
		return
	}
	token, err := s.Desk.SignInWithPasskey(g.Request.Context(), e.Ticket, e.Answer, s.address(g))
	if err == nil {
		s.keep(g, token)
	}
	s.reply(g, gin.H{"to": s.ownPath(e.Back)}, err)
}
