package sms

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"strconv"
	"strings"
	"time"

	"tubhand/internal/channel/intake"
	"tubhand/internal/conversation"
	"tubhand/internal/phone"
	"tubhand/internal/shop"
)

// patience is how long a turn may take. A gateway waits 15 to 30 seconds.
const patience = 10 * time.Second

// How fast one number may text: a burst that no hand exceeds, then one text a second.
const (
	burst   = 40
	refill  = time.Second
	tracked = 50_000 // numbers remembered at a time
)

// text takes one text.
func (in *Inbound) text(ctx context.Context, d *door, it *Item) *refusal {
	f, ev, no := in.read(d, it)
	if no != nil {
		return no
	}
	urgent := in.config.Urgent
	if wait := in.pace.Wait(ev.From, in.config.Clock.Now()); wait > 0 && !urgent(ev.Text) {
		return &refusal{status: 429, reason: "too many texts from this number; send the same again later", after: wait}
	}
	if d.album != nil && len(it.Pictures) > 0 && !urgent(ev.Text) { // an emergency does not wait for a picture
		ev.Remark = in.fetchAll(ctx, d, f.Shop.Key, ev.From, ev.ID, it.Pictures)
	}
	if err := in.config.Turns.Handle(ctx, f.Shop.Key, ev); err != nil {
		in.config.Log.Error("a text was not taken", "shop", f.Shop.Key, "gateway", d.name,
			"from", phone.Short(ev.From), "error", err)
		return &later
	}
	return nil
}

// read makes an event of a text.
func (in *Inbound) read(d *door, it *Item) (*shop.File, conversation.Event, *refusal) {
	var none conversation.Event
	f, err := d.shop(strings.TrimSpace(it.To))
	switch {
	case errors.Is(err, errUnknownLine):
		return nil, none, refuse(404, "to: "+err.Error())
	case err != nil:
		return nil, none, refuse(statusOf(err), "to: "+err.Error())
	}
	from, err := in.book.Parse(it.From, f.Shop.Region)
	if err != nil {
		return nil, none, refuse(statusOf(err), "from: "+err.Error())
	}
	if from.E164 == f.Shop.Line {
		return nil, none, refuse(422, "from: is the shop's own line")
	}
	text := intake.Bound(tidy(it.Body), in.config.Urgent)
	when := it.Time
	if when == "" {
		when = strconv.FormatInt(in.config.Clock.Now().Unix()/60, 10)
	}
	return f, conversation.Event{
		ID:       mark(d.name, it.ID, from.E164, f.Shop.Line, text, when),
		Kind:     conversation.TextIn,
		From:     from.E164,
		To:       f.Shop.Line,
		Gateway:  d.name,
		Text:     text,
		TimeZone: from.Zone(f.Shop.TimeZone),
		Region:   region(from.Region, f.Shop.Region),
		Remark:   remark(it.Pictures),
	}, nil
}

// statusOf tells a missing or unreadable number (400) from one that nobody can answer (422).
func statusOf(err error) int {
	if errors.Is(err, phone.ErrEmpty) || errors.Is(err, phone.ErrUnread) {
		return 400
	}
	return 422
}

// region is the number's country, or the shop's for numbers of none.
func region(number, home string) string {
	if len(number) != 2 || number == "ZZ" {
		return home
	}
	return number
}

// mark is the event's dedupe mark. A gateway's id is taken as it is if it is short and
// plain, else by its hash. Without an id the mark is the hash of sender, line, text and
// when: the gateway's own time or, where it tells none, the minute, so that a repeat within
// the minute is taken for one text, and one that comes later for two.
func mark(gateway, id, from, to, text, when string) string {
	if id == "" {
		return "sms:" + gateway + ":=" + digest(from, to, text, when)
	}
	return "sms:" + gateway + ":" + short(id)
}

// short is a gateway's id as records keep it: as it is, or its hash where it is long or odd.
func short(id string) string {
	if len(id) > 100 || strings.ContainsFunc(id, odd) || id[0] == '=' || id[0] == '#' {
		return "#" + digest(id)
	}
	return id
}

func odd(r rune) bool { return r <= ' ' || r > '~' }

func digest(parts ...string) string {
	h := sha256.New()
	for _, p := range parts {
		h.Write([]byte(strconv.Itoa(len(p)) + ":" + p))
	}
	return hex.EncodeToString(h.Sum(nil)[:16])
}
