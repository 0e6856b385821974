package sms

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"tubhand/internal/shop"
)

// The reasons for which Take turns a text away for good; compare with errors.Is. Any other
// error of Take means: the same again, later.
var (
	ErrNoLine   = errors.New("no shop has that line at this gateway")
	ErrNoSender = errors.New("nobody can be answered at that number")
)

// Text is an owner's text that came another way than by a callback, over a link to a
// message center. ID is the same when the same text comes again.
type Text struct{ From, To, Body, ID string }

// Take handles a text of a gateway that is not spoken to over HTTP as a callback's text is:
// the same numbers are taken, the same pace is kept, the same event is made of it. It
// returns nil when the text's turn is durable, or was before.
func (in *Inbound) Take(ctx context.Context, gateway string, t Text) error {
	d, ok := in.links[gateway]
	if !ok {
		return ErrNoLine
	}
	if _, err := d.shop(strings.TrimSpace(t.To)); err != nil {
		return fmt.Errorf("%w: %w", ErrNoLine, err)
	}
	no := in.text(ctx, d, &Item{Kind: TextItem, From: t.From, To: t.To, Body: t.Body, ID: t.ID})
	switch {
	case no == nil:
		in.config.Observe(204)
		return nil
	case no.after > 0:
		in.config.Observe(no.status)
		return errors.New(no.reason)
	}
	in.config.Observe(no.status)
	return fmt.Errorf("%w: %s", ErrNoSender, no.reason)
}

// Shop finds whose line a number is at a gateway that is not spoken to over HTTP.
func (in *Inbound) Shop(gateway, to string) (shop string, ok bool) {
	d, ok := in.links[gateway]
	if !ok {
		return "", false
	}
	f, err := d.shop(strings.TrimSpace(to))
	if err != nil {
		return "", false
	}
	return f.Shop.Key, true
}

// link opens a gateway that is not spoken to over HTTP; no callback finds it.
func (in *Inbound) link(g shop.Gateway, f *shop.File) error {
	d, ok := in.links[g.Name]
	if !ok {
		d = &door{name: g.Name, byLine: map[string]*shop.File{}}
		in.links[g.Name] = d
	}
	return d.add(g.Name, f)
}
