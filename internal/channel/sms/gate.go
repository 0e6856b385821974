package sms

import (
	"fmt"
	"time"

	"tubhand/internal/channel/sms/sign"
	"tubhand/internal/shop"
	"tubhand/internal/shop/field"
)

// Gate is one gateway's description made ready to read its callbacks. It is safe for
// concurrent use.
type Gate struct {
	name    string
	web     *shop.Web
	check   *sign.Check
	queried bool // some field stands in the address
}

// NewGate makes a gateway ready; its secrets are read from the vault.
func NewGate(g shop.Gateway, v shop.Vault) (*Gate, error) {
	var secrets [][]byte
	for _, s := range g.Web.Sign.Secrets {
		found, err := s.Read(v)
		if err != nil {
			return nil, fmt.Errorf("sms: gateway %q: signed: %w", g.Name, err)
		}
		secrets = append(secrets, found)
	}
	check, err := sign.New(g.Web.Sign, secrets)
	if err != nil {
		return nil, fmt.Errorf("sms: gateway %q: %w", g.Name, err)
	}
	return &Gate{name: g.Name, web: g.Web, check: check, queried: g.Kind != shop.Plain}, nil
}

// verify tells whether a callback is the gateway's own; why not is not for its sender.
func (g *Gate) verify(cb *Callback, now time.Time) error {
	if g.check.Open() {
		return nil
	}
	r, err := cb.signable(g.web.PublicURL)
	if err != nil {
		return err
	}
	return g.check.Verify(r, now)
}

// The kinds of things that a callback tells.
const (
	TextItem   = "text"   // an owner's words
	ReportItem = "report" // how a message of ours fared
	OtherItem  = "other"  // what the description passes over
)

// Item is one thing that a callback tells, its values as the gateway wrote them.
type Item struct {
	Kind     string    `json:"kind"`
	From     string    `json:"from,omitempty"`
	To       string    `json:"to,omitempty"`
	Body     string    `json:"body,omitempty"`
	ID       string    `json:"id,omitempty"` // of a text; or the gateway's id of our message
	Time     string    `json:"time,omitempty"`
	Pictures []Picture `json:"pictures,omitempty"`
	Key      string    `json:"key,omitempty"`  // of our message
	Line     string    `json:"line,omitempty"` // our number
	State    string    `json:"state,omitempty"`
}

// Picture is one picture that came with a text.
type Picture struct {
	URL  string `json:"url"`
	Kind string `json:"kind,omitempty"` // media type, as the gateway tells it
}

// maxItems bounds the messages of one callback.
const maxItems = 200

// maxPictures bounds the pictures of one text.
const maxPictures = 10

// items reads a callback at the address of texts, or at that of reports.
func (g *Gate) items(cb *Callback, reports bool) ([]Item, *refusal) {
	format := g.web.Texts.Format
	if reports {
		format = g.web.Reports.Format
	}
	at, no := g.place(cb, format)
	if no != nil {
		return nil, no
	}
	var out []Item
	if !reports {
		out, no = g.texts(at, out)
	}
	if no == nil && (reports || g.web.Reports.SameURL) {
		out, no = g.reports(at, out)
	}
	if no == nil && len(out) == 0 {
		no = refuse(422, "there is no message where the gateway's description looks for one")
	}
	if len(out) > maxItems {
		return nil, refuse(413, fmt.Sprintf("more than %d messages in one callback", maxItems))
	}
	return out, no
}

// place parses a callback.
func (g *Gate) place(cb *Callback, format string) (*field.Place, *refusal) {
	at := &field.Place{Header: cb.Header}
	var err error
	switch format {
	case field.Form:
		at.Form, err = field.ParseForm(string(cb.Body))
	case field.JSON:
		at.Top, err = field.ParseJSON(cb.Body)
	}
	if err != nil {
		return nil, refuse(400, "the body is "+err.Error())
	}
	if g.queried {
		if at.Query, err = cb.query(); err != nil {
			return nil, refuse(400, "the address is "+err.Error())
		}
	}
	at.Item = at.Top
	return at, nil
}

// each goes through the messages of a callback.
func each(at *field.Place, path field.Path, do func(*field.Place) *refusal) *refusal {
	if path == nil {
		return do(at)
	}
	for _, item := range path.All(at.Top) {
		one := *at
		one.Item = item
		if no := do(&one); no != nil {
			return no
		}
	}
	return nil
}

func (g *Gate) texts(at *field.Place, out []Item) ([]Item, *refusal) {
	t := &g.web.Texts
	no := each(at, t.Each, func(p *field.Place) *refusal {
		if g.web.Reports.SameURL && g.isReport(p) {
			return nil
		}
		if !holds(p, t.Only) {
			out = append(out, Item{Kind: OtherItem})
			return nil
		}
		r := reading{at: p}
		it := Item{Kind: TextItem, From: r.text(t.From), To: r.text(t.To), Body: r.text(t.Body), ID: r.text(t.ID), Time: r.text(t.Time)}
		if t.UCS2 {
			it.Body = r.ucs2(it.Body)
		}
		if t.Media.URL.Given() {
			it.Pictures = r.pictures(t.Media)
		}
		out = append(out, it)
		return r.no
	})
	return out, no
}

func (g *Gate) reports(at *field.Place, out []Item) ([]Item, *refusal) {
	d := &g.web.Reports
	no := each(at, d.Each, func(p *field.Place) *refusal {
		if !g.isReport(p) {
			if !d.SameURL {
				out = append(out, Item{Kind: OtherItem})
			}
			return nil
		}
		r := reading{at: p}
		out = append(out, Item{Kind: ReportItem, Key: r.text(d.Key), ID: r.text(d.ID), Line: r.text(d.Line), State: r.text(d.State)})
		return r.no
	})
	return out, no
}

// isReport tells a report by its conditions or, where it has none and comes with the
// texts, by having a state.
func (g *Gate) isReport(p *field.Place) bool {
	d := &g.web.Reports
	if len(d.Only) > 0 || !d.SameURL {
		return holds(p, d.Only)
	}
	state, err := d.State.Text(p)
	return err == nil && state != ""
}
