package email

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"tubhand/internal/channel/email/authenticate"
	"tubhand/internal/channel/email/letter"
	"tubhand/internal/conversation"
	"tubhand/internal/mailbox"
)

// delivery is a message as it was brought.
type delivery struct {
	raw     []byte
	env     authenticate.Envelope
	details []string // of the shop's addresses that it was for
	null    bool     // the reverse path was empty
	relayed bool     // it comes from a relay of ours, which has checked it
}

// take handles one message for one shop.
func (in *Inbound) take(ctx context.Context, b *Box, d delivery) answer {
	a := in.sort(ctx, b, d)
	in.config.Observe(a.kind)
	return a
}

// sort finds out what kind of message it is: a report, a machine's, or a person's.
func (in *Inbound) sort(ctx context.Context, b *Box, d delivery) answer {
	l, err := letter.Read(d.raw)
	switch {
	case errors.Is(err, letter.ErrTooLong):
		return refuse(552, "the message is too long")
	case errors.Is(err, letter.ErrAuthor):
		return refuse(550, "the message must name one author in one From field")
	case err != nil:
		return refuse(554, "the message cannot be read")
	}
	if l.Report != nil || hasBounce(d.details) {
		return in.report(ctx, b, l, d.details)
	}
	if d.null && l.Machine == "" {
		l.Machine = "it has no sender to answer to"
	}
	if _, _, ours := in.box(l.From); ours {
		l.Machine = "it says that it is from ourselves"
	}
	if l.Machine == "" && !in.named(b, l) {
		l.Machine = "it is not addressed to the shop"
	}
	if l.Machine != "" {
		return in.machine(ctx, b, l)
	}
	return in.person(ctx, b, l, d)
}

// named tells whether To or Cc names the shop (RFC 3834, 2): a message that does not is
// meant for a crowd.
func (in *Inbound) named(b *Box, l *letter.Letter) bool {
	for _, to := range l.To {
		if box, _, ok := in.box(to); ok && box == b {
			return true
		}
	}
	return false
}

// machine keeps what no person wrote where staff see it, if it is about an owner, and
// answers nothing.
func (in *Inbound) machine(ctx context.Context, b *Box, l *letter.Letter) answer {
	in.config.Log.Info("mail is not answered", "shop", b.Shop.Key, "from", short(l.From), "why", l.Machine)
	known, err := in.known(ctx, b, l.From)
	switch {
	case err != nil:
		return answer{kind: later, why: "cannot take this right now"}
	case !known || in.pace.Wait(l.From, in.config.Clock.Now()) > 0:
		return answer{kind: passed}
	}
	ev := in.event(b, l, conversation.UnprovenIn)
	ev.Remark = l.Machine
	return in.hand(ctx, b, ev)
}

// person takes what a person wrote, if they are who they say.
func (in *Inbound) person(ctx context.Context, b *Box, l *letter.Letter, d delivery) answer {
	ev := in.event(b, l, conversation.TextIn)
	if wait := in.pace.Wait(l.From, in.config.Clock.Now()); wait > 0 && !in.config.Urgent(ev.Text) {
		return answer{kind: later, why: "too many messages from this address"}
	}
	out := in.check(ctx, b, l, d)
	in.config.Log.Info("mail", "shop", b.Shop.Key, "from", short(l.From), "verdict", string(out.Verdict), "why", out.Why)
	ev.Remark = remark(out, l)
	switch {
	case out.Verdict == authenticate.Later:
		return answer{kind: later, why: "who sent this could not be checked right now"}
	case out.Verdict == authenticate.Forged && out.Policy == "reject":
		return refuse(550, "rejected by the DMARC policy of "+mailbox.Of(l.From))
	case out.Verdict != authenticate.Proven:
		ev.Kind, ev.Ask = conversation.UnprovenIn, out.Verdict == authenticate.Unproven
	}
	return in.hand(ctx, b, ev)
}

// check comes to a verdict on who wrote a message: by the token of a message of ours that
// it answers, by a relay of ours, or by the author's domain.
func (in *Inbound) check(ctx context.Context, b *Box, l *letter.Letter, d delivery) authenticate.Outcome {
	for _, detail := range d.details {
		if b.Key.Replied(detail, b.Shop.Key, l.From, in.config.Clock.Now()) {
			return authenticate.Outcome{Verdict: authenticate.Proven, Why: "answers a message of ours"}
		}
	}
	if d.relayed {
		if out, ok := authenticate.ByRelay(l.Results, b.Mail.Trust.ID, l.From); ok {
			return out
		}
		d.env.IP = nil // it is the relay's
	}
	ctx, done := context.WithTimeout(ctx, patience)
	defer done()
	return authenticate.Check(ctx, in.config.DNS, d.raw, l.From, d.env)
}

// event makes an event of a message.
func (in *Inbound) event(b *Box, l *letter.Letter, kind conversation.Kind) conversation.Event {
	return conversation.Event{
		ID: mark(l), Kind: kind, From: l.From, To: b.Mail.Address, Gateway: conversation.MailGateway,
		Text: in.written(l), TimeZone: b.Shop.TimeZone, Region: b.Shop.Region,
		Letter: &conversation.Letter{MessageID: l.MessageID, Subject: l.Subject, References: references(l)},
	}
}

// references is the thread of an answer to this message: its own references and its id
// (RFC 5322, 3.6.4).
func references(l *letter.Letter) []string {
	ids := l.References
	if len(ids) == 0 && l.InReplyTo != "" {
		ids = []string{l.InReplyTo}
	}
	if l.MessageID != "" {
		ids = append(ids[:len(ids):len(ids)], l.MessageID)
	}
	return letter.Trim(ids)
}

// mark is the dedupe mark: the Message-ID, which is the author's own, or else a hash of
// what was written.
func mark(l *letter.Letter) string {
	if l.MessageID != "" {
		return "mail:" + digest(l.From, l.MessageID)
	}
	return "mail:=" + digest(l.From, l.Subject, l.Text)
}

func digest(parts ...string) string {
	h := sha256.New()
	for _, p := range parts {
		h.Write([]byte(strconv.Itoa(len(p)) + ":" + p))
	}
	return hex.EncodeToString(h.Sum(nil)[:16])
}

// remark tells staff how the author is known and what was attached.
func remark(out authenticate.Outcome, l *letter.Letter) string {
	s := "By e-mail: " + out.Why + "."
	if len(l.Attached) == 0 {
		return s
	}
	var names []string
	for _, a := range l.Attached {
		name := a.Name
		if name == "" {
			name = "unnamed"
		}
		names = append(names, fmt.Sprintf("%s (%s, %d kB)", name, a.Type, (a.Size+1023)/1024))
	}
	return s + " Attached and not kept: " + strings.Join(names, ", ") + "."
}
