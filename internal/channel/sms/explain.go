package sms

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"tubhand/internal/channel/sms/sign"
	"tubhand/internal/clock"
	"tubhand/internal/shop"
)

// Explained is what a shop's description makes of one callback. Nothing is changed by it.
type Explained struct {
	Address   string `json:"address"`   // texts, reports
	Signature string `json:"signature"` // in a sentence
	Holds     bool   `json:"holds"`     // the signature does, or none is asked for
	Try       string `json:"try,omitempty"`
	Items     []Told `json:"items,omitempty"`
	Refused   string `json:"refused,omitempty"` // why the callback as a whole would be refused
	Answer    int    `json:"answer"`            // the status that it would be answered with, as far as can be told
}

// Told is one thing that a callback tells, and what would become of it.
type Told struct {
	Item
	Becomes string `json:"becomes"` // in a sentence
	Refused bool   `json:"refused,omitempty"`
}

// Explainer explains callbacks of one gateway of a shop.
type Explainer struct {
	in   *Inbound
	door *door
}

// NewExplainer makes one; the secrets are read from the vault. Errors say which is missing.
func NewExplainer(f *shop.File, gateway string, v shop.Vault, c clock.Clock) (*Explainer, error) {
	in, err := New(Config{Shops: []*shop.File{f}, Vault: v, Clock: c, Urgent: func(string) bool { return false }})
	if err != nil {
		return nil, err
	}
	d, ok := in.doors[gateway]
	if !ok {
		return nil, fmt.Errorf("sms: no gateway %q takes callbacks over HTTP here", gateway)
	}
	return &Explainer{in: in, door: d}, nil
}

// Answer is how the gateway wants a callback to be answered that was taken.
func (e *Explainer) Answer() shop.Answer { return e.door.gate.web.Answer }

// Explain tells what is made of a callback that came at a time.
func (e *Explainer) Explain(cb *Callback, at time.Time) Explained {
	g := e.door.gate
	reports := strings.HasPrefix(cb.URI, "/in/status/")
	out := Explained{Address: "texts", Answer: g.web.Answer.Status}
	format := g.web.Texts.Format
	if reports {
		out.Address, format = "reports", g.web.Reports.Format
	}
	e.signature(cb, at, &out)
	no := cb.suits(format)
	if reports && !g.web.Reports.Given {
		no = refuse(404, "the description has no reports:, so no reports are taken")
	}
	if no == nil {
		var items []Item
		items, no = g.items(cb, reports)
		for i := range items {
			out.Items = append(out.Items, e.told(&items[i], at))
		}
	}
	if no == nil && len(out.Items) > 0 && !slices.ContainsFunc(out.Items, func(t Told) bool { return !t.Refused }) {
		no = refuse(422, out.Items[len(out.Items)-1].Becomes)
	}
	if no != nil {
		out.Refused, out.Answer = no.reason, no.status
	}
	if !out.Holds {
		out.Answer = 401
	}
	return out
}

func (e *Explainer) signature(cb *Callback, at time.Time, out *Explained) {
	g := e.door.gate
	switch err := g.verify(cb, at); {
	case g.check.Open():
		out.Holds, out.Signature = true, "none is asked for: whoever knows the address can post"
	case err == nil:
		out.Holds, out.Signature = true, "holds ("+g.web.Sign.How+")"
	default:
		out.Signature = "does not hold: " + err.Error()
		var failure *sign.Failure
		if errors.As(err, &failure) && failure.Old {
			return
		}
		if r, bad := cb.signable(g.web.PublicURL); bad == nil {
			out.Try = g.check.Guess(r)
		}
	}
}

func (e *Explainer) told(it *Item, at time.Time) Told {
	t := Told{Item: *it}
	switch it.Kind {
	case TextItem:
		f, ev, no := e.in.read(e.door, it)
		if no != nil {
			t.Refused, t.Becomes = true, "refused: "+no.reason
			break
		}
		t.Becomes = fmt.Sprintf("a text from %s to %s (%s): %q; a repeat is known by %s", ev.From, ev.To, f.Shop.Key, ev.Text, ev.ID)
		if it.ID == "" {
			t.Becomes += ", since it has no id"
		}
		if ev.Remark != "" {
			t.Becomes += "; " + ev.Remark
		}
		if when, ok := sign.Time(it.Time); it.Time != "" && !ok {
			t.Becomes += fmt.Sprintf("; its time %q is none that is known", cut(it.Time))
		} else if ok && at.Sub(when) > time.Hour {
			t.Becomes += "; it was sent " + at.Sub(when).Round(time.Minute).String() + " before it came"
		}
	case ReportItem:
		t.Becomes = e.report(it)
		t.Refused = strings.HasPrefix(t.Becomes, "refused")
	default:
		t.Becomes = "passed over: neither a text nor a report by the description's only:"
	}
	return t
}

func (e *Explainer) report(it *Item) string {
	d := &e.door.gate.web.Reports
	state, ok := d.Words[strings.ToLower(strings.TrimSpace(it.State))]
	about := "the gateway's message " + it.ID
	if d.Key.Given() {
		shop, line, no := byKey(e.door, it.Key)
		switch {
		case no != nil:
			return "refused: " + no.reason
		case !e.door.carriesFor(shop):
			return "refused: the key is of a shop that this gateway does not carry for"
		}
		about = "message " + line + " of " + shop
	} else if it.ID == "" {
		return "refused: id: is missing; it tells which message the report is about"
	}
	switch {
	case !ok && d.Tolerant:
		return fmt.Sprintf("a report on %s that changes nothing: %q stands under none of sent, delivered and failed", about, cut(it.State))
	case !ok:
		return fmt.Sprintf("refused: status %q is not known", cut(it.State))
	}
	return fmt.Sprintf("a report: %s is %s (%q)", about, state, cut(it.State))
}

// Matters lists the headers that the description reads, then names of the others.
func (e *Explainer) Matters(h http.Header) (shown []string, others []string) {
	s := e.door.gate.web.Sign
	wanted := []string{"Content-Type", s.Header, s.TimeIn}
	switch s.How {
	case shop.SignStandard:
		wanted = append(wanted, "Webhook-Id", "Webhook-Timestamp", "Webhook-Signature")
	case shop.SignBasic:
		wanted = append(wanted, "Authorization")
	}
	t, r := &e.door.gate.web.Texts, &e.door.gate.web.Reports
	for _, f := range []fmt.Stringer{t.From, t.To, t.Body, t.ID, t.Time, r.Key, r.ID, r.Line, r.State} {
		if name, ok := strings.CutPrefix(f.String(), "header:"); ok {
			wanted = append(wanted, name)
		}
	}
	for _, name := range wanted {
		name = http.CanonicalHeaderKey(name)
		if line := name + ": " + strings.Join(h.Values(name), " | "); name != "" && h.Get(name) != "" && !slices.Contains(shown, line) {
			shown = append(shown, line)
		}
	}
	for name := range h {
		if !slices.Contains(wanted, name) && !slices.ContainsFunc(shown, func(s string) bool { return strings.HasPrefix(s, name+": ") }) {
			others = append(others, name)
		}
	}
	slices.Sort(others)
	return shown, others
}

// masked is what stands where a secret was.
const masked = "(masked)"

// Masked gives a copy of a callback without what proves who sent it as it stands: a
// password or a secret that comes along. Signatures stay; they tell no secret.
func (e *Explainer) Masked(cb *Callback) *Callback {
	s := e.door.gate.web.Sign
	out := *cb
	out.Header = cb.Header.Clone()
	for _, name := range []string{"Authorization", "Cookie", "Proxy-Authorization"} {
		if out.Header.Get(name) != "" {
			out.Header.Set(name, masked)
		}
	}
	if s.How == shop.SignShared && s.Header != "" && out.Header.Get(s.Header) != "" {
		out.Header.Set(s.Header, masked)
	}
	if s.Query != "" {
		path, query, _ := strings.Cut(cb.URI, "?")
		fields := strings.Split(query, "&")
		for i, f := range fields {
			if name, _, ok := strings.Cut(f, "="); ok && name == s.Query {
				fields[i] = name + "=" + masked
			}
		}
		out.URI = path + "?" + strings.Join(fields, "&")
	}
	return &out
}
