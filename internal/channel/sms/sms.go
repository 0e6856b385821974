// Package sms is the channel of text messages that come and go through HTTP gateways.
// A gateway posts what owners write to /in/sms/{gateway} and how our messages fared to
// /in/status/{gateway}; outbound messages are posted to the address in the shop file.
//
// What a gateway posts, how it signs and what it wants to be sent stands in its description
// in the shop file; the plain gateway is one that is built in, and all go one way.
//
// A text is answered 204, or as the description says, when its turn is durable, or was
// before: a gateway that hears nothing repeats itself, and a repeated id changes nothing.
// Whatever is wrong with a request is answered 4xx with a plain reason, which repeating
// would not mend; 429 and 503 carry Retry-After and mean "the same again, later". Of a
// signature that does not hold the sender is told just that.
package sms

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"reflect"
	"sync/atomic"
	"time"

	"github.com/gin-gonic/gin"

	"tubhand/internal/channel/intake"
	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/phone"
	"tubhand/internal/shop"
	"tubhand/internal/store"
)

// Handler runs the turn of an event; turn.Runner is one. Any error means that nothing
// was committed.
type Handler interface {
	Handle(ctx context.Context, shop string, ev conversation.Event) error
}

// Reports takes delivery reports. An error that wraps store.ErrNotFound says that
// there is no such line.
type Reports interface {
	Delivered(ctx context.Context, shop, line, state string) error
}

// Receipts keeps which line a gateway's own id of a message stands for; store.Store is one.
type Receipts interface {
	Document(ctx context.Context, shop, kind, key string, now time.Time) (store.Document, error)
	PutDocument(ctx context.Context, shop string, d store.Document, now time.Time) error
}

// Config is what the inbound side works with. Vault must be given where a gateway signs,
// Receipts where one reports by its own ids; all others but Observe must be.
type Config struct {
	Shops    []*shop.File
	Vault    shop.Vault
	Turns    Handler
	Reports  Reports
	Receipts Receipts
	Folder   string // where pictures are kept, where a gateway's are fetched; "" fetches none
	Clock    clock.Clock
	Log      *slog.Logger
	Urgent   func(text string) bool // is this an emergency? Such a text is never turned away
	Observe  func(answer int)       // the status of each answer, for the metrics; may be nil
}

// Inbound takes gateways' callbacks. It is safe for concurrent use.
type Inbound struct {
	config Config
	doors  map[string]*door // by gateway name
	links  map[string]*door // the same of gateways that are not spoken to over HTTP
	pace   *intake.Pace
	book   *phone.Book // the numbers that have been read
}

// door is a gateway as callbacks see it: the shops that it carries for.
type door struct {
	name    string
	album   *album                // nil: pictures are only noted
	gate    *Gate                 // nil: not spoken to over HTTP
	byLine  map[string]*shop.File // by E.164
	shops   []string              // their keys
	regions []string              // of those shops, each once
	warned  atomic.Int64          // when a callback's signature was last told of, in Unix seconds
}

// knownNumbers is how many numbers are kept as they were read, at least; some 3 MB.
const knownNumbers = 8192

// New makes the inbound side. It fails when two shops share a line at one gateway, or
// describe it differently, and where a secret cannot be read.
func New(c Config) (*Inbound, error) {
	if c.Observe == nil {
		c.Observe = func(int) {}
	}
	in := &Inbound{config: c, doors: map[string]*door{}, links: map[string]*door{}, pace: intake.NewPace(burst, refill, tracked), book: phone.NewBook(knownNumbers)}
	for _, f := range c.Shops {
		for _, g := range f.Gateways {
			open := in.open
			if g.Web == nil { // spoken to in another way
				open = in.link
			}
			if err := open(g, f); err != nil {
				return nil, err
			}
		}
	}
	for _, d := range in.doors {
		if len(d.byLine) > 1 && !d.gate.web.Texts.To.Given() {
			return nil, fmt.Errorf("sms: gateway %q carries for several shops, so its description must say under texts: in to: where the line stands", d.name)
		}
	}
	return in, nil
}

func (in *Inbound) open(g shop.Gateway, f *shop.File) error {
	d, ok := in.doors[g.Name]
	if !ok {
		gate, err := NewGate(g, in.config.Vault)
		if err != nil {
			return fmt.Errorf("shop %q: %w", f.Shop.Key, err)
		}
		d = &door{name: g.Name, gate: gate, byLine: map[string]*shop.File{}}
		if g.Web.Pictures.Fetch && in.config.Folder != "" {
			if d.album, err = newAlbum(g.Web.Pictures, in.config.Vault, in.config.Folder); err != nil {
				return fmt.Errorf("shop %q: sms: gateway %q: %w", f.Shop.Key, g.Name, err)
			}
		}
		in.doors[g.Name] = d
	}
	if !alike(d.gate.web, g.Web) {
		return fmt.Errorf("sms: shop %q describes the callbacks of gateway %q otherwise than another shop does; give it another name, or the same description",
			f.Shop.Key, g.Name)
	}
	return d.add(g.Name, f)
}

// add opens the door to a shop.
func (d *door) add(gateway string, f *shop.File) error {
	if other, taken := d.byLine[f.Shop.Line]; taken {
		return fmt.Errorf("sms: shops %q and %q both have the line %s at gateway %q; give each its own",
			other.Shop.Key, f.Shop.Key, f.Shop.Line, gateway)
	}
	d.byLine[f.Shop.Line] = f
	d.shops = append(d.shops, f.Shop.Key)
	for _, r := range d.regions {
		if r == f.Shop.Region {
			return nil
		}
	}
	d.regions = append(d.regions, f.Shop.Region)
	return nil
}

// alike tells whether two shops describe a gateway's callbacks in the same way; how each
// sends is its own.
func alike(a, b *shop.Web) bool {
	x, y := *a, *b
	x.Send, y.Send = shop.Send{}, shop.Send{}
	return reflect.DeepEqual(x, y)
}

// shop finds whose line a text came in on, however the gateway writes the number.
func (d *door) shop(to string) (*shop.File, error) {
	if d.gate != nil && !d.gate.web.Texts.To.Given() && to == "" {
		for _, f := range d.byLine { // the only one
			return f, nil
		}
	}
	if f, ok := d.byLine[to]; ok {
		return f, nil
	}
	err := errUnknownLine
	for _, region := range d.regions {
		n, unread := phone.Parse(to, region)
		if unread != nil {
			err = unread
			continue
		}
		if f, ok := d.byLine[n.E164]; ok {
			return f, nil
		}
		err = errUnknownLine
	}
	return nil, err
}

var errUnknownLine = errors.New("no shop has that line here")

// Mount adds the two paths to a router.
func (in *Inbound) Mount(r gin.IRoutes) {
	for _, method := range []string{http.MethodPost, http.MethodGet} {
		r.Handle(method, "/in/sms/:gateway", func(c *gin.Context) { in.answer(c, false) })
		r.Handle(method, "/in/status/:gateway", func(c *gin.Context) { in.answer(c, true) })
	}
}

// answer takes a callback and answers it.
func (in *Inbound) answer(c *gin.Context, reports bool) {
	d, ok := in.doors[c.Param("gateway")]
	no := &refusal{status: 404, reason: "no such gateway; see gateways: in the shop file"}
	if ok {
		no = in.take(c, d, reports)
	}
	if no != nil {
		no.write(c)
		in.config.Observe(no.status)
		return
	}
	a := &d.gate.web.Answer
	if a.Body == "" {
		c.Status(a.Status)
		c.Writer.WriteHeaderNow()
	} else {
		c.Data(a.Status, a.Type, []byte(a.Body))
	}
	in.config.Observe(a.Status)
}

// take verifies a callback, reads it and handles what it tells.
func (in *Inbound) take(c *gin.Context, d *door, reports bool) *refusal {
	format := d.gate.web.Texts.Format
	if reports {
		if !d.gate.web.Reports.Given {
			return refuse(404, "no reports are taken of this gateway; see reports: in its description")
		}
		format = d.gate.web.Reports.Format
	}
	cb, no := receive(c, format)
	if no != nil {
		return no
	}
	if err := d.gate.verify(cb, in.config.Clock.Now()); err != nil {
		in.forged(d, err)
		return refuse(401, "the signature does not hold")
	}
	items, no := d.gate.items(cb, reports)
	if no != nil {
		return no
	}
	// A gateway that hangs up must not undo a turn half-way: it would only send it again.
	ctx, done := context.WithTimeout(context.WithoutCancel(c.Request.Context()), patience)
	defer done()
	return in.handle(ctx, d, items)
}

// handle takes each thing that a callback tells. Where one must come again, all do: what
// was taken already changes nothing then. One that cannot be taken does not keep the
// others from it, and is refused where it stands alone.
func (in *Inbound) handle(ctx context.Context, d *door, items []Item) *refusal {
	var refused *refusal
	taken := 0
	for i := range items {
		var no *refusal
		switch items[i].Kind {
		case TextItem:
			no = in.text(ctx, d, &items[i])
		case ReportItem:
			no = in.report(ctx, d, &items[i])
		}
		switch {
		case no == nil:
			taken++
		case no.after > 0:
			return no
		default:
			refused = no
		}
	}
	if refused == nil || taken == 0 {
		return refused
	}
	in.config.Log.Warn("a part of a callback was not taken", "gateway", d.name, "why", refused.reason)
	return nil
}

// forged tells in the log why a signature did not hold, once a minute and gateway: whoever
// posts at random must not fill the disk.
func (in *Inbound) forged(d *door, why error) {
	now := in.config.Clock.Now().Unix()
	if last := d.warned.Load(); now-last >= 60 && d.warned.CompareAndSwap(last, now) {
		in.config.Log.Warn("a callback's signature does not hold", "gateway", d.name, "why", why)
	}
}
