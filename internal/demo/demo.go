// Package demo is the newcomer's page: a pretend phone beside the staff view of the
// same shop, over a clock that can jump. Its owners are invented, and so are their
// histories, which come about by playing their texts through the same turns as real
// ones. It knows nothing of servers and stores; cmd puts those together.
package demo

import (
	"context"
	"embed"
	"errors"
	"fmt"
	"html/template"
	"log/slog"
	"net/http"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

// Runner handles one event to its end.
type Runner interface {
	Handle(ctx context.Context, shop string, event conversation.Event) error
}

// Options are what the page needs; all but Log are required.
type Options struct {
	Shop    *conversation.Shop
	Store   store.Store
	Runner  Runner
	Clock   *clock.Jumping
	Gateway string            // the channel of the pretend phone
	Staff   string            // where the staff view is mounted, with a slash at its end
	Style   string            // the staff view's style sheet, which this page shares
	Script  string            // and its script
	Icon    string            // and its icon
	Headers func(http.Header) // the security headers of a page
	Log     *slog.Logger
}

//go:embed pages/phone.html
var pageFile embed.FS

//go:embed assets
var assetFiles embed.FS

// Page serves the demo's page.
type Page struct {
	Options
	zone  *time.Location
	page  *template.Template
	about map[string]string // of each invented owner, by address
}

// New makes the page. It fails when an option is missing.
func New(o Options) (*Page, error) {
	if o.Shop == nil || o.Store == nil || o.Runner == nil || o.Clock == nil || o.Headers == nil || o.Staff == "" || o.Gateway == "" {
		return nil, errors.New("demo: an option is missing")
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	zone, err := time.LoadLocation(o.Shop.TimeZone)
	if err != nil {
		return nil, fmt.Errorf("demo: time zone: %w", err)
	}
	page, err := template.New("phone.html").Option("missingkey=error").ParseFS(pageFile, "pages/phone.html")
	if err != nil {
		return nil, fmt.Errorf("demo: %w", err)
	}
	about := map[string]string{}
	for _, owner := range Owners(zone) {
		about[owner.Address] = owner.Name + ": " + owner.About
	}
	return &Page{Options: o, zone: zone, page: page, about: about}, nil
}

// mostForm bounds the body of a form, in bytes.
const mostForm = 16 << 10

// Mount adds the page's routes at the root of a router.
func (p *Page) Mount(router gin.IRouter) {
	r := router.Group("/", p.bound)
	r.GET("/", p.show)
	r.GET("/demo/:file", p.asset)
	r.POST("/phone/text", p.text)
	r.POST("/phone/jump", p.jump)
	r.POST("/phone/new", p.begin)
}

func (p *Page) bound(g *gin.Context) {
	p.Headers(g.Writer.Header())
	g.Request.Body = http.MaxBytesReader(g.Writer, g.Request.Body, mostForm)
}

func (p *Page) asset(g *gin.Context) {
	name := g.Param("file")
	body, err := assetFiles.ReadFile("assets/" + name)
	if err != nil {
		p.problem(g, http.StatusNotFound, "There is no such file.")
		return
	}
	kind := "text/css; charset=utf-8"
	if strings.HasSuffix(name, ".js") {
		kind = "text/javascript; charset=utf-8"
	}
	g.Data(http.StatusOK, kind, body)
}

// problem answers with a sentence that the page's script shows beside the form.
func (p *Page) problem(g *gin.Context, status int, words string) {
	g.Data(status, "text/html; charset=utf-8", []byte("<!doctype html><html lang=\"en\"><title>That did not work</title><p data-problem>"+
		template.HTMLEscapeString(words)+"</p><p><a href=\"/\">Back to the demo</a></p>"))
	g.Abort()
}

func (p *Page) failed(g *gin.Context, doing string, err error) {
	if errors.Is(err, context.Canceled) && g.Request.Context().Err() != nil {
		return // whoever asked has gone; there is nobody to tell
	}
	p.Log.Error("demo", "doing", doing, "error", err)
	p.problem(g, http.StatusInternalServerError, "Something went wrong; the terminal says what.")
}
