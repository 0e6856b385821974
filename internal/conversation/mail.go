package conversation

import (
	"slices"
	"strings"
	"time"

	"tubhand/internal/mailbox"
	"tubhand/internal/safety"
	"tubhand/internal/understand"
	"tubhand/internal/wording"
)

// MailGateway is the name of the carrier of e-mail: what goes to an e-mail address goes
// through it, whatever gateway the shop's texts take.
const MailGateway = "mail"

// Letter is what the thread of an e-mail is known by (RFC 5322, 3.6.4).
type Letter struct {
	MessageID  string   `json:"message_id"` // with its brackets
	References []string `json:"references,omitempty"`
	Subject    string   `json:"subject,omitempty"`
}

// proofAgain is how often at most the writer of mail that proves nothing is asked to
// prove who they are. Our decision: the address may be a victim's.
const proofAgain = 24 * time.Hour

// carrier gives what a message to an address goes through and who it is from.
func (t *turn) carrier(to string) (gateway, from string) {
	if mailbox.Is(to) {
		return MailGateway, t.w.shop.Mail
	}
	return t.w.shop.Gateway, t.w.shop.Line
}

// byMail tells whether the owner is answered by e-mail, which has room for everything
// that a turn says in one message.
func (t *turn) byMail() bool {
	return len(t.c.Owner.Addresses) > 0 && mailbox.Is(t.c.Owner.Addresses[0])
}

// answerHere has the owner answered where they have just written from.
func (t *turn) answerHere() {
	o := &t.c.Owner
	if i := slices.Index(o.Addresses, t.ev.From); i > 0 {
		o.Addresses = slices.Insert(slices.Delete(slices.Clone(o.Addresses), i, i+1), 0, t.ev.From)
	}
	if t.ev.Letter != nil {
		t.c.Thread = copied(t.ev.Letter)
	}
}

// tellRemark leaves what the channel knows of a text for staff.
func (t *turn) tellRemark() {
	if t.ev.Remark != "" {
		t.note(t.ev.Remark)
	}
}

// unprovenIn keeps mail that may not be from whom it says for staff. Nothing in it is
// acted upon, but for a danger: a person looks at that.
func (t *turn) unprovenIn() {
	t.note("Not acted upon, since it may not be from " + t.ev.From + ": " + t.ev.Remark + ". It says: " + shorten(t.ev.Text, 600))
	m := understand.Understand(t.ev.Text, t.hearing())
	if m.Severity.Rank() >= safety.PersonSoon.Rank() {
		t.handOver("unproven_mail", m.Severity, false)
		t.opened = false // the owner is told nothing that they may not have asked about
	}
	if !t.ev.Ask || t.c.Silenced(t.ev.From) || t.now.Sub(t.c.AskedProof) < proofAgain {
		return
	}
	t.c.AskedProof = t.now
	if t.ev.Letter != nil && t.c.Thread == nil {
		t.c.Thread = copied(t.ev.Letter)
	}
	if text, ok := t.w.words.Say(t.language(), wording.Common, "mail.prove", t.words()); ok {
		t.line(Line{Direction: Out, Text: strings.TrimSpace(text), Send: true, Class: ClassReply, To: t.ev.From})
	}
}
