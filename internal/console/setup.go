package console

import (
	"fmt"
	"net/http"
	"strings"

	"github.com/boombuler/barcode"
	"github.com/boombuler/barcode/qr"
	"github.com/gin-gonic/gin"

	"tubhand/internal/staff"
)

// setUpView is the page behind a set-up link.
type setUpView struct {
	Code, Key, Name, Role, Trouble string
	Secret                         string // in groups of four
	Square                         square
	Passkeys                       bool
}

// square is a QR code (ISO/IEC 18004) as a drawing: the path of its dark fields.
type square struct {
	Size int
	Path string
}

// quiet is the empty border that readers need, in fields.
const quiet = 4

func drawSquare(text string) (square, error) {
	code, err := qr.Encode(text, qr.M, qr.Auto)
	if err != nil {
		return square{}, fmt.Errorf("square for an authenticator app: %w", err)
	}
	return square{Size: code.Bounds().Dx() + 2*quiet, Path: darkFields(code)}, nil
}

func darkFields(code barcode.Barcode) string {
	var path strings.Builder
	b := code.Bounds()
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			if r, _, _, _ := code.At(x, y).RGBA(); r == 0 {
				fmt.Fprintf(&path, "M%d %dh1v1h-1z", x-b.Min.X+quiet, y-b.Min.Y+quiet)
			}
		}
	}
	return path.String()
}

func (s *site) setUpPage(g *gin.Context) { s.showSetUp(g, http.StatusOK, g.Query("code"), "") }

func (s *site) showSetUp(g *gin.Context, status int, code, trouble string) {
	inv, err := s.Desk.Invited(g.Request.Context(), code, s.address(g))
	if wrong, words := s.explain(g, err); words != "" {
		s.problem(g, wrong, words)
		return
	}
	v := setUpView{
		Code: code, Key: inv.Account.Key, Name: inv.Account.Name, Role: string(inv.Account.Role), Trouble: trouble,
		Secret: groups(inv.Secret), Passkeys: s.passkeys(g),
	}
	if v.Square, err = drawSquare(inv.URI); err != nil {
		s.failed(g, "draw a square", err)
		return
	}
	s.show(g, status, setUpPage, s.still(g, "Set up your sign-in", v))
}

// groups parts a secret into groups of four, to be typed.
func groups(secret string) string {
	var out []string
	for ; len(secret) > 4; secret = secret[4:] {
		out = append(out, secret[:4])
	}
	return strings.Join(append(out, secret), " ")
}

// setUp takes a password, and shows the recovery codes this once.
func (s *site) setUp(g *gin.Context) {
	code := g.PostForm("code")
	if g.PostForm("password") != g.PostForm("again") {
		s.showSetUp(g, http.StatusUnprocessableEntity, code, "The two passwords are not the same. Type it twice again.")
		return
	}
	token, codes, err := s.Desk.SetPassword(g.Request.Context(), staff.Choice{
		Code: code, Password: g.PostForm("password"), OneTime: g.PostForm("onetime"), Address: s.address(g),
	})
	switch status, words := s.explain(g, err); {
	case status == http.StatusUnprocessableEntity:
		s.showSetUp(g, status, code, words)
		return
	case words != "":
		s.problem(g, status, words)
		return
	}
	s.keep(g, token)
	s.names.forget()
	s.show(g, http.StatusOK, codesPage, s.still(g, "Recovery codes", codes))
}

func (s *site) askSetUp(g *gin.Context) {
	e, ok := s.exchanged(g)
	if !ok {
		return
	}
	ask, err := s.Desk.AskSetUp(g.Request.Context(), e.Code, s.address(g))
	s.reply(g, ask, err)
}

func (s *site) answerSetUp(g *gin.Context) {
	e, ok := s.exchanged(g)
	if !ok {
		return
	}
	token, err := s.Desk.SetUpWithPasskey(g.Request.Context(), e.Code, e.Ticket, e.Answer, s.address(g))
	if err == nil {
		s.keep(g, token)
		s.names.forget()
	}
	s.reply(g, gin.H{"to": s.base}, err)
}
