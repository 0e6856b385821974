package email

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/netip"
	"slices"
	"sync"
	"time"

	"github.com/emersion/go-smtp"

	"tubhand/internal/channel/email/authenticate"
	"tubhand/internal/channel/email/letter"
	"tubhand/internal/channel/intake"
)

// The bounds of the SMTP server. Our decisions; RFC 5321, 4.5.3 asks for at least 100
// recipients of whoever relays, which this server does not do: it has a few mailboxes.
const (
	maxRecipients = 20
	maxSessions   = 64 // connections at a time
	maxPerPeer    = 8  // of them from one address
	maxInHand     = 4  // messages held in memory at a time
	smtpPatience  = time.Minute
	perConnection = 50 // messages in one connection
)

// Server is an SMTP server for the shops' mailboxes, and for nothing else: it relays for
// nobody.
type Server struct {
	smtp *smtp.Server
	door *doorkeeper
}

// SMTP makes the server. Name is what it calls itself; with a nil config there is no
// STARTTLS.
func (in *Inbound) SMTP(name string, encrypted *tls.Config) *Server {
	b := &backend{in: in, inHand: make(chan struct{}, maxInHand)}
	s := smtp.NewServer(b)
	s.Domain, s.TLSConfig = name, encrypted
	s.MaxRecipients, s.MaxMessageBytes = maxRecipients, letter.MaxBytes
	s.ReadTimeout, s.WriteTimeout = smtpPatience, smtpPatience
	s.ErrorLog = smtpLog{in.config.Log}
	return &Server{smtp: s, door: &doorkeeper{peers: map[string]int{}, pace: intake.NewPace(60, time.Second, tracked), inbound: in}}
}

// Serve takes connections until Shutdown or Close.
func (s *Server) Serve(l net.Listener) error {
	err := s.smtp.Serve(&guarded{Listener: l, door: s.door})
	if errors.Is(err, smtp.ErrServerClosed) || errors.Is(err, net.ErrClosed) {
		return nil
	}
	return err
}

// Shutdown takes no new connections and waits for those there are, until ctx ends.
func (s *Server) Shutdown(ctx context.Context) error {
	if err := s.smtp.Shutdown(ctx); err != nil {
		return errors.Join(err, s.smtp.Close())
	}
	return nil
}

// backend begins sessions.
type backend struct {
	in     *Inbound
	inHand chan struct{} // holds a token for each message in memory
}

// NewSession implements smtp.Backend.
func (b *backend) NewSession(c *smtp.Conn) (smtp.Session, error) {
	host, _, err := net.SplitHostPort(c.Conn().RemoteAddr().String())
	if err != nil {
		host = ""
	}
	return &session{backend: b, conn: c, remote: host}, nil
}

// session is one client's.
type session struct {
	*backend
	conn     *smtp.Conn
	remote   string
	from     string
	null     bool
	boxes    []*Box
	details  map[*Box][]string
	messages int
}

// Reset implements smtp.Session.
func (s *session) Reset() { s.from, s.null, s.boxes, s.details = "", false, nil, nil }

// Logout implements smtp.Session.
func (s *session) Logout() error { return nil }

// Mail implements smtp.Session.
func (s *session) Mail(from string, _ *smtp.MailOptions) error {
	if s.messages++; s.messages > perConnection {
		return &smtp.SMTPError{Code: 421, EnhancedCode: smtp.EnhancedCode{4, 7, 0}, Message: "enough for one connection"}
	}
	s.from, s.null = from, from == ""
	return nil
}

// Rcpt implements smtp.Session.
func (s *session) Rcpt(to string, _ *smtp.RcptOptions) error {
	address, ok := rcpt(to)
	b, detail, known := s.in.box(address)
	if !ok || !known {
		return &smtp.SMTPError{Code: 550, EnhancedCode: smtp.EnhancedCode{5, 1, 1}, Message: "no such mailbox here"}
	}
	if !slices.Contains(s.boxes, b) {
		s.boxes = append(s.boxes, b)
	}
	if s.details == nil {
		s.details = map[*Box][]string{}
	}
	if detail != "" {
		s.details[b] = append(s.details[b], detail)
	}
	return nil
}

// Data implements smtp.Session: it answers 250 only when all shops' turns are durable.
// Where one has to wait, all come again; the others know the message by then.
func (s *session) Data(r io.Reader) error {
	s.inHand <- struct{}{}
	defer func() { <-s.inHand }()
	raw, err := io.ReadAll(r)
	if err != nil {
		return err
	}
	ctx, done := context.WithTimeout(context.Background(), smtpPatience)
	defer done()
	var worst answer
	for _, b := range s.boxes {
		a := s.in.take(ctx, b, delivery{
			raw: raw, details: s.details[b], null: s.null, relayed: b.trusts(s.remote),
			env: authenticate.Envelope{IP: net.ParseIP(s.remote), Helo: s.conn.Hostname(), MailFrom: s.from},
		})
		if a.kind == later || a.kind == refused && worst.kind != later {
			worst = a
		}
	}
	switch worst.kind {
	case later:
		return &smtp.SMTPError{Code: 451, EnhancedCode: smtp.EnhancedCode{4, 3, 0}, Message: worst.why}
	case refused:
		return &smtp.SMTPError{Code: worst.code, EnhancedCode: enhanced(worst.code), Message: worst.why}
	}
	return nil
}

// enhanced is the code of RFC 3463 that goes with a refusal of ours.
func enhanced(code int) smtp.EnhancedCode {
	switch code {
	case 552:
		return smtp.EnhancedCode{5, 3, 4}
	case 550:
		return smtp.EnhancedCode{5, 7, 1}
	}
	return smtp.EnhancedCode{5, 6, 0}
}

// smtpLog writes the server's complaints to our log.
type smtpLog struct{ log *slog.Logger }

// Printf implements smtp.Logger.
func (l smtpLog) Printf(format string, v ...any) {
	l.log.Warn("smtp", "what", fmt.Sprintf(format, v...))
}

// Println implements smtp.Logger.
func (l smtpLog) Println(v ...any) { l.log.Warn("smtp", "what", fmt.Sprint(v...)) }

// doorkeeper counts connections.
type doorkeeper struct {
	mu      sync.Mutex
	all     int
	peers   map[string]int
	pace    *intake.Pace
	inbound *Inbound
}

// enter lets a connection in, if there is room.
func (d *doorkeeper) enter(peer string) bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.all >= maxSessions || d.peers[peer] >= maxPerPeer || d.pace.Wait(peer, d.inbound.config.Clock.Now()) > 0 {
		return false
	}
	d.all++
	d.peers[peer]++
	return true
}

func (d *doorkeeper) leave(peer string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.all--
	if d.peers[peer]--; d.peers[peer] == 0 {
		delete(d.peers, peer)
	}
}

// guarded is a listener that turns away who is too many.
type guarded struct {
	net.Listener
	door *doorkeeper
}

// Accept implements net.Listener.
func (g *guarded) Accept() (net.Conn, error) {
	for {
		c, err := g.Listener.Accept()
		if err != nil {
			return nil, err
		}
		peer, _, _ := net.SplitHostPort(c.RemoteAddr().String())
		if g.door.enter(peer) {
			return &counted{Conn: c, gone: sync.OnceFunc(func() { g.door.leave(peer) })}, nil
		}
		turnAway(c)
	}
}

// turnAway tells a client to come later (RFC 5321, 3.8). So little fits into an empty
// buffer without waiting.
func turnAway(c net.Conn) {
	_, _ = io.WriteString(c, "421 4.7.0 too many connections, try again later\r\n")
	_ = c.Close()
}

// counted is a connection that is counted until it closes.
type counted struct {
	net.Conn
	gone func()
}

// Close implements net.Conn.
func (c *counted) Close() error {
	defer c.gone()
	return c.Conn.Close()
}

// within tells whether an address is in one of the networks.
func within(remote string, networks []netip.Prefix) bool {
	ip, err := netip.ParseAddr(remote)
	if err != nil {
		return false
	}
	return slices.ContainsFunc(networks, func(p netip.Prefix) bool { return p.Contains(ip.Unmap()) })
}
