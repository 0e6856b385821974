// Package console is the staff's side: a board that can stay open all day, and one page
// for each conversation, rendered on the server and kept current by server-sent events.
// It reads through store.View and changes things only by staff events that go through
// the same turns as everything else. With Options.Desk staff sign in; without it whoever
// reaches the console acts as any member of staff, which is for the demo alone, and
// Options.LoopbackOnly holds it to this machine.
package console

import (
	"context"
	"errors"
	"fmt"
	"html/template"
	"log/slog"
	"net/http"
	"strings"
	"sync"
	"time"

	"github.com/gin-gonic/gin"

	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/flow"
	"tubhand/internal/shop"
	"tubhand/internal/staff"
	"tubhand/internal/store"
)

// Runner handles one event to its end: read, decide, commit. An event whose id was
// handled before changes nothing; both nil and store.ErrDuplicate say so.
type Runner interface {
	Handle(ctx context.Context, shop string, event conversation.Event) error
}

// Options are what a console needs. Shop, Store, Runner, Clock and Flows are required.
type Options struct {
	Shop         *conversation.Shop
	Store        store.Store
	Runner       Runner
	Clock        clock.Clock
	Flows        *flow.Set
	Log          *slog.Logger  // nil: nothing is logged
	Desk         *staff.Desk   // lets the staff in; nil: no sign-in, everybody is staff
	Secure       bool          // browsers come over TLS
	Proxied      bool          // a proxy passes requests on and says where they came from
	LoopbackOnly bool          // answer only this machine, by a loopback name
	Framed       bool          // pages of the same origin may show the console in a frame
	Beat         time.Duration // between heartbeats of a live connection; 0: 15 s
	MostLive     int           // live connections at once; 0: 256

	Decider   Decider             // says what would be answered to a text that is tried; nil: only what is understood is shown
	Rehearser Rehearser           // plays rehearsals; nil: there are none
	Settings  func() shop.Summary // what was understood of the shop file; nil: the page has nothing to show
}

// Console serves one shop's staff pages. It is safe for concurrent use.
type Console struct {
	Options
	zone    *time.Location
	pages   map[string]*template.Template
	assets  map[string]asset
	cross   *http.CrossOriginProtection
	slots   chan struct{} // one for each live connection
	closed  chan struct{}
	closing sync.Once
	names   *directory
	due     *dueBook
	present *presence
}

// New makes a console. It fails when an option is missing or the shop's time zone is
// not known.
func New(options Options) (*Console, error) {
	o := options
	if o.Shop == nil || o.Store == nil || o.Runner == nil || o.Clock == nil || o.Flows == nil {
		return nil, errors.New("console: Shop, Store, Runner, Clock and Flows are required")
	}
	zone, err := time.LoadLocation(o.Shop.TimeZone)
	if err != nil {
		return nil, fmt.Errorf("console: time zone of shop %q: %w", o.Shop.Key, err)
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	if o.Beat <= 0 {
		o.Beat = 15 * time.Second
	}
	if o.MostLive <= 0 {
		o.MostLive = 256
	}
	c := &Console{
		Options: o, zone: zone,
		cross: http.NewCrossOriginProtection(),
		slots: make(chan struct{}, o.MostLive),
		names: &directory{}, present: newPresence(), due: &dueBook{},
		closed: make(chan struct{}),
	}
	if c.assets, err = loadAssets(); err != nil {
		return nil, fmt.Errorf("console: %w", err)
	}
	if c.pages, err = loadPages(); err != nil {
		return nil, fmt.Errorf("console: %w", err)
	}
	return c, nil
}

// Mount adds the console's routes to a router or a group of it. Links follow the
// group's path.
func (c *Console) Mount(router gin.IRouter) {
	base := "/"
	if b, ok := router.(interface{ BasePath() string }); ok {
		base = strings.TrimSuffix(b.BasePath(), "/") + "/"
	}
	s := &site{Console: c, base: base}
	group := router.Group("", s.headers, s.guard)
	for _, r := range routes() {
		if s.Desk != nil || !r.desk {
			group.Handle(r.method, r.path, s.admit(r.need), func(g *gin.Context) { r.do(s, g) })
		}
	}
	if s.Desk == nil {
		group.POST("/who", s.who)
	}
}

// Close ends all live connections, so that a server can shut down gracefully; pages
// are still served. It may be called twice. Give it to http.Server.RegisterOnShutdown.
func (c *Console) Close() { c.closing.Do(func() { close(c.closed) }) }

// site is a console at the path where it was mounted.
type site struct {
	*Console
	base string // with a slash at its end
}
