// Package sms is the channel of text messages that come and go through HTTP gateways.
// A gateway posts what owners write to /in/sms/{gateway} and how our messages fared to
// /in/status/{gateway}; outbound messages are posted to the address in the shop file.
//
// A text is answered 204 when its turn is durable, or was before: a gateway that hears
// nothing repeats itself, and a repeated id changes nothing. Whatever is wrong with a
// request is answered 4xx with a plain reason, which repeating would not mend; 429 and
// 503 carry Retry-After and mean "the same again, later".
package sms

import (
	"context"
	"errors"
	"fmt"
	"log/slog"

	"github.com/gin-gonic/gin"

	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/phone"
	"tubhand/internal/shop"
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

// Config is what the inbound side works with. All but Observe must be given.
type Config struct {
	Shops   []*shop.File
	Turns   Handler
	Reports Reports
	Clock   clock.Clock
	Log     *slog.Logger
	Urgent  func(text string) bool // is this an emergency? Such a text is never turned away
	Observe func(answer int)       // the status of each answer, for the metrics; may be nil
}

// Inbound takes gateways' callbacks. It is safe for concurrent use.
type Inbound struct {
	config Config
	doors  map[string]*door // by gateway name
	pace   *pace
	book   *phone.Book // the numbers that have been read
}

// door is a gateway as callbacks see it: the shops that it carries for.
type door struct {
	name    string
	byLine  map[string]*shop.File // by E.164
	regions []string              // of those shops, each once
}

// remembered is how many numbers are kept as they were read, at least; some 3 MB.
const remembered = 8192

// New makes the inbound side. It fails when two shops share a line at one gateway.
func New(c Config) (*Inbound, error) {
	if c.Observe == nil {
		c.Observe = func(int) {}
	}
	in := &Inbound{config: c, doors: map[string]*door{}, pace: newPace(), book: phone.NewBook(remembered)}
	for _, f := range c.Shops {
		for _, g := range f.Gateways {
			if err := in.open(g.Name, f); err != nil {
				return nil, err
			}
		}
	}
	return in, nil
}

func (in *Inbound) open(gateway string, f *shop.File) error {
	d, ok := in.doors[gateway]
	if !ok {
		d = &door{name: gateway, byLine: map[string]*shop.File{}}
		in.doors[gateway] = d
	}
	if other, taken := d.byLine[f.Shop.Line]; taken {
		return fmt.Errorf("sms: shops %q and %q both have the line %s at gateway %q; give each its own",
			other.Shop.Key, f.Shop.Key, f.Shop.Line, gateway)
	}
	d.byLine[f.Shop.Line] = f
	for _, r := range d.regions {
		if r == f.Shop.Region {
			return nil
		}
	}
	d.regions = append(d.regions, f.Shop.Region)
	return nil
}

// shop finds whose line a text came in on, however the gateway writes the number.
func (d *door) shop(to string) (*shop.File, error) {
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
	r.POST("/in/sms/:gateway", in.answer(in.text))
	r.POST("/in/status/:gateway", in.answer(in.report))
}

// answer wraps a handler that returns nil for 204 or what to refuse with.
func (in *Inbound) answer(handle func(*gin.Context, *door) *refusal) gin.HandlerFunc {
	return func(c *gin.Context) {
		var no *refusal
		if d, ok := in.doors[c.Param("gateway")]; ok {
			no = handle(c, d)
		} else {
			no = &refusal{status: 404, reason: "no such gateway; see gateways: in the shop file"}
		}
		if no == nil {
			c.Status(204)
			c.Writer.WriteHeaderNow()
			in.config.Observe(204)
			return
		}
		no.write(c)
		in.config.Observe(no.status)
	}
}
