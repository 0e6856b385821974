package rehearse

import (
	"context"
	"regexp"
	"strings"

	"tubhand/internal/conversation"
	"tubhand/internal/mailbox"
	"tubhand/internal/phone"
)

// mailed gives a shop without a mailbox one for the rehearsal, so that owners can write by
// e-mail and link their addresses.
func mailed(s *conversation.Shop) {
	if s.Mail == "" {
		s.Mail = "hello@" + s.Key + ".example"
	}
	if len(s.Secret) == 0 {
		s.Secret = []byte("rehearsals may be guessed")
	}
}

// reach reads an address of either kind.
func reach(address string, s *conversation.Shop) (phone.Number, error) {
	if !mailbox.Is(address) {
		return phone.Parse(address, s.Region)
	}
	a, err := mailbox.Parse(address)
	return phone.Number{E164: a, Region: s.Region}, err
}

// hear has the owner write.
func (p *Player) hear(ctx context.Context, t *Turn) error {
	ev := conversation.Event{Kind: conversation.TextIn, Text: strings.ReplaceAll(*t.Owner, "{code}", p.code)}
	from := t.From
	if from == "" {
		from = p.owner.E164
	}
	n, err := reach(from, &p.shop)
	if err != nil {
		return err
	}
	ev.From, ev.To, ev.Gateway = n.E164, p.shop.Line, p.shop.Gateway
	if mailbox.Is(n.E164) {
		ev.To, ev.Gateway = p.shop.Mail, conversation.MailGateway
	}
	return p.handle(ctx, ev)
}

// sixDigits begin a message that brings a code.
var sixDigits = regexp.MustCompile(`^\d{6}\b`)

func (p *Player) keepCode(text string) {
	if code := sixDigits.FindString(text); code != "" {
		p.code = code
	}
}
