package sms

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"strconv"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"tubhand/internal/conversation"
	"tubhand/internal/phone"
	"tubhand/internal/shop"
)

// patience is how long a turn may take. A gateway waits 15 to 30 seconds.
const patience = 10 * time.Second

// text takes one inbound text.
func (in *Inbound) text(c *gin.Context, d *door) *refusal {
	form, no := readForm(c)
	if no != nil {
		return no
	}
	f, ev, no := in.read(d, form)
	if no != nil {
		return no
	}
	if wait := in.pace.wait(ev.From, in.config.Clock.Now()); wait > 0 && !in.config.Urgent(ev.Text) {
		return &refusal{status: 429, reason: "too many texts from this number; send the same again later", after: wait}
	}
	// A gateway that hangs up must not undo a turn half-way: it would only send it again.
	ctx, done := context.WithTimeout(context.WithoutCancel(c.Request.Context()), patience)
	defer done()
	if err := in.config.Turns.Handle(ctx, f.Shop.Key, ev); err != nil {
		in.config.Log.Error("a text was not taken", "shop", f.Shop.Key, "gateway", d.name,
			"from", phone.Short(ev.From), "error", err)
		return &later
	}
	return nil
}

// read makes an event of a form.
func (in *Inbound) read(d *door, form map[string]string) (*shop.File, conversation.Event, *refusal) {
	var none conversation.Event
	f, err := d.shop(strings.TrimSpace(form["to"]))
	switch {
	case errors.Is(err, errUnknownLine):
		return nil, none, refuse(404, "to: "+err.Error())
	case err != nil:
		return nil, none, refuse(statusOf(err), "to: "+err.Error())
	}
	from, err := in.book.Parse(form["from"], f.Shop.Region)
	if err != nil {
		return nil, none, refuse(statusOf(err), "from: "+err.Error())
	}
	if from.E164 == f.Shop.Line {
		return nil, none, refuse(422, "from: is the shop's own line")
	}
	text := bound(tidy(form["body"]), in.config.Urgent)
	return f, conversation.Event{
		ID:       mark(d.name, form["id"], from.E164, f.Shop.Line, text, in.config.Clock.Now()),
		Kind:     conversation.TextIn,
		From:     from.E164,
		To:       f.Shop.Line,
		Gateway:  d.name,
		Text:     text,
		TimeZone: from.Zone(f.Shop.TimeZone),
		Region:   region(from.Region, f.Shop.Region),
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
// minute: the plain gateway tells no time of its own, so a repeat within the minute is
// taken for one text, and one that comes later for two.
func mark(gateway, id, from, to, text string, now time.Time) string {
	switch {
	case id == "":
		minute := strconv.FormatInt(now.Unix()/60, 10)
		return "sms:" + gateway + ":=" + digest(from, to, text, minute)
	case len(id) > 100 || strings.ContainsFunc(id, odd) || id[0] == '=' || id[0] == '#':
		return "sms:" + gateway + ":#" + digest(id)
	}
	return "sms:" + gateway + ":" + id
}

func odd(r rune) bool { return r <= ' ' || r > '~' }

func digest(parts ...string) string {
	h := sha256.New()
	for _, p := range parts {
		h.Write([]byte(strconv.Itoa(len(p)) + ":" + p))
	}
	return hex.EncodeToString(h.Sum(nil)[:16])
}
