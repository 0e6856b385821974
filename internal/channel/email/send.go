package email

import (
	"bytes"
	"context"
	"crypto"
	"crypto/tls"
	"errors"
	"fmt"
	"html/template"
	"io/fs"
	"net"
	"strconv"
	"time"

	"github.com/emersion/go-msgauth/dkim"
	"github.com/emersion/go-sasl"
	"github.com/emersion/go-smtp"

	"tubhand/internal/channel/email/picture"
	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/mailbox"
	"tubhand/internal/safety"
	"tubhand/internal/shop"
	"tubhand/internal/store"
)

// Outbound is what sends one shop's mail, its secrets read.
type Outbound struct {
	Box      Box
	Password string // of the relay; "" where it wants none
	Signers  []Signer
	Records  Records
	Clock    clock.Clock
	Pages    fs.FS
	TLS      *tls.Config // roots and so on; nil for the machine's
}

// Signer is a DKIM key.
type Signer struct {
	Selector, Domain string
	Key              crypto.Signer // RSA or Ed25519
}

// Sender hands messages to the shop's relay. It is a sender for dispatch, safe for
// concurrent use.
type Sender struct {
	Outbound
	pages  *template.Template
	drawer *picture.Drawer
	limits safety.Limits
	lines  chan struct{} // holds a token for each connection to the relay
}

// connections is how many the relay has to bear at a time.
const connections = 4

// NewSender makes a sender. It fails where its templates or the shop's limits cannot be
// used.
func NewSender(o Outbound) (*Sender, error) {
	pages, err := template.ParseFS(o.Pages, "mail/*.html")
	if err != nil {
		return nil, fmt.Errorf("email: %w", err)
	}
	drawer, err := picture.New()
	if err != nil {
		return nil, fmt.Errorf("email: %w", err)
	}
	limits, err := safety.Default().Tighten(o.Box.Shop.Limits)
	if err != nil {
		return nil, fmt.Errorf("email: %w", err)
	}
	return &Sender{Outbound: o, pages: pages, drawer: drawer, limits: limits, lines: make(chan struct{}, connections)}, nil
}

// Send tries once to hand a line over to the relay. A 250 to the message means that it
// has been taken. No answer, a 4yz and whatever is wrong between us and the relay are to
// be tried again; a 5yz to the message or its recipient has failed. A message may go out
// twice, after a crash; its Message-ID is then the same.
func (s *Sender) Send(ctx context.Context, _ string, l conversation.Line) store.Result {
	if _, err := mailbox.Parse(l.To); err != nil {
		return store.Result{Kind: store.Failed, Why: "not an e-mail address"}
	}
	raw, err := s.Write(ctx, l)
	if err != nil {
		return store.Result{Kind: store.Retry, Why: "the message could not be written: " + err.Error()}
	}
	select {
	case s.lines <- struct{}{}:
		defer func() { <-s.lines }()
	case <-ctx.Done():
		return store.Result{Kind: store.Retry, Why: "the relay is busy"}
	}
	return s.submit(ctx, l, raw)
}

// submit speaks to the relay.
func (s *Sender) submit(ctx context.Context, l conversation.Line, raw []byte) store.Result {
	c, err := s.connect(ctx)
	if err != nil {
		return store.Result{Kind: store.Retry, Why: told("no connection to the relay", err)}
	}
	defer c.Close()
	if err := s.identify(c); err != nil {
		return store.Result{Kind: store.Retry, Why: told("the relay does not let us in", err)}
	}
	key := s.Box.Shop.Key
	options := &smtp.MailOptions{Return: smtp.DSNReturnHeaders, EnvelopeID: s.Box.Key.Envelope(key, l.ID), Size: int64(len(raw))}
	if err := c.Mail(mailbox.WithDetail(s.Box.Mail.Address, s.Box.Key.Bounce(key, l.ID)), options); err != nil {
		return outcome(err)
	}
	if err := c.Rcpt(l.To, &smtp.RcptOptions{Notify: []smtp.DSNNotify{smtp.DSNNotifyFailure}}); err != nil {
		return outcome(err)
	}
	w, err := c.Data()
	if err != nil {
		return outcome(err)
	}
	if _, err := w.Write(raw); err != nil {
		return outcome(err)
	}
	if err := w.Close(); err != nil {
		return outcome(err)
	}
	_ = c.Quit()
	return store.Result{Kind: store.Sent}
}

// connect opens a connection, encrypted as the shop file says. What the relay does not
// answer in time is cut off when ctx ends.
func (s *Sender) connect(ctx context.Context) (*smtp.Client, error) {
	relay := s.Box.Mail.Relay
	conn, err := (&net.Dialer{}).DialContext(ctx, "tcp", net.JoinHostPort(relay.Host, strconv.Itoa(relay.Port)))
	if err != nil {
		return nil, err
	}
	if at, ok := ctx.Deadline(); ok {
		if err := conn.SetDeadline(at); err != nil {
			return nil, errors.Join(err, conn.Close())
		}
	}
	secure := &tls.Config{MinVersion: tls.VersionTLS12}
	if s.TLS != nil {
		secure = s.TLS.Clone()
	}
	if secure.ServerName == "" {
		secure.ServerName = relay.Host
	}
	var c *smtp.Client
	switch relay.TLS {
	case shop.TLSOnly:
		c = smtp.NewClient(tls.Client(conn, secure))
	case shop.TLSNone:
		c = smtp.NewClient(conn)
	default:
		if c, err = smtp.NewClientStartTLS(conn, secure); err != nil {
			return nil, errors.Join(err, conn.Close())
		}
	}
	c.CommandTimeout, c.SubmissionTimeout = time.Minute, time.Minute
	return c, nil
}

// identify says who we are, and logs in where the shop file gives a user.
func (s *Sender) identify(c *smtp.Client) error {
	if s.Box.Mail.Relay.TLS != shop.TLSStart { // else it has been said to ask for encryption
		if err := c.Hello(mailbox.Of(s.Box.Mail.Address)); err != nil {
			return err
		}
	}
	user := s.Box.Mail.Relay.User
	switch {
	case user == "":
		return nil
	case !c.SupportsAuth(sasl.Plain) && c.SupportsAuth("LOGIN"):
		return c.Auth(sasl.NewLoginClient(user, s.Password))
	}
	return c.Auth(sasl.NewPlainClient("", user, s.Password))
}

// outcome reads what the relay answered to a message.
func outcome(err error) store.Result {
	var answer *smtp.SMTPError
	why := told("the relay did not take it", err)
	if !errors.As(err, &answer) || answer.Temporary() {
		return store.Result{Kind: store.Retry, Why: why}
	}
	switch answer.Code {
	case 500, 501, 502, 503, 504, 521, 530, 534, 535, 538: // about us, not about the message
		return store.Result{Kind: store.Retry, Why: why}
	}
	return store.Result{Kind: store.Failed, Why: why}
}

// told is a reason without what a relay may put into its words: addresses, mostly.
func told(what string, err error) string {
	var answer *smtp.SMTPError
	if errors.As(err, &answer) {
		e := answer.EnhancedCode
		return fmt.Sprintf("%s: %d %d.%d.%d", what, answer.Code, max(e[0], 0), max(e[1], 0), max(e[2], 0))
	}
	return what
}

// signedFields are signed where they are there: RFC 6376, 5.4.1, and RFC 8058, 4 for the
// last two.
var signedFields = []string{
	"From", "To", "Reply-To", "Subject", "Date", "Message-ID", "In-Reply-To", "References", "MIME-Version", "Content-Type",
	"Auto-Submitted", "List-Unsubscribe", "List-Unsubscribe-Post",
}

// sign puts the shop's DKIM signatures before a message (RFC 6376, RFC 8463).
func (s *Sender) sign(raw []byte) ([]byte, error) {
	for _, k := range s.Signers {
		var b bytes.Buffer
		err := dkim.Sign(&b, bytes.NewReader(raw), &dkim.SignOptions{
			Domain: k.Domain, Selector: k.Selector, Signer: k.Key, HeaderKeys: signedFields,
			HeaderCanonicalization: dkim.CanonicalizationRelaxed, BodyCanonicalization: dkim.CanonicalizationRelaxed,
		})
		if err != nil {
			return nil, fmt.Errorf("sign with %s: %w", k.Selector, err)
		}
		raw = b.Bytes()
	}
	return raw, nil
}
