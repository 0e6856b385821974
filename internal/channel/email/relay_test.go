package email_test

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"io"
	"net"
	"net/http/httptest"
	"strconv"
	"sync"
	"testing"

	"github.com/emersion/go-sasl"
	"github.com/emersion/go-smtp"
	"github.com/stretchr/testify/require"

	"tubhand/internal/channel/email"
	"tubhand/internal/shop"
	"tubhand/templates"
)

// relay is a server that outbound mail is handed to.
type relay struct {
	mu       sync.Mutex
	got      []mailed
	refuse   *smtp.SMTPError // what RCPT answers
	final    *smtp.SMTPError // what the message answers
	password string
	server   *smtp.Server
	host     string
	port     int
	roots    *x509.CertPool
	serve    sync.WaitGroup
}

type mailed struct {
	from, to, envelope, user string
	encrypted                bool
	raw                      []byte
}

// newRelay runs a relay on loopback; how is as in the shop file.
func newRelay(t *testing.T, how string) *relay {
	t.Helper()
	r := &relay{roots: x509.NewCertPool()}
	web := httptest.NewTLSServer(nil) // for its certificate
	certificate := web.TLS.Certificates[0]
	r.roots.AddCert(web.Certificate())
	web.Close()
	r.server = smtp.NewServer(r)
	r.server.Domain, r.server.EnableDSN, r.server.AllowInsecureAuth = "relay.example", true, true
	r.server.ErrorLog = quietLog{}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	config := &tls.Config{Certificates: []tls.Certificate{certificate}, MinVersion: tls.VersionTLS12}
	switch how {
	case shop.TLSStart:
		r.server.TLSConfig = config
	case shop.TLSOnly:
		l = tls.NewListener(l, config)
	}
	host, port, err := net.SplitHostPort(l.Addr().(*net.TCPAddr).String())
	require.NoError(t, err)
	r.host = host
	r.port, err = strconv.Atoi(port)
	require.NoError(t, err)
	r.serve.Go(func() { _ = r.server.Serve(l) })
	t.Cleanup(func() { _ = r.server.Close(); _ = l.Close(); r.serve.Wait() })
	return r
}

type quietLog struct{}

func (quietLog) Printf(string, ...any) {}
func (quietLog) Println(...any)        {}

// NewSession implements smtp.Backend.
func (r *relay) NewSession(c *smtp.Conn) (smtp.Session, error) {
	return &relaySession{relay: r, conn: c}, nil
}

type relaySession struct {
	*relay
	conn *smtp.Conn
	now  mailed
}

func (s *relaySession) AuthMechanisms() []string { return []string{sasl.Plain} }

func (s *relaySession) Auth(string) (sasl.Server, error) {
	return sasl.NewPlainServer(func(_, user, password string) error {
		if password != s.password {
			return errors.New("wrong password")
		}
		s.now.user = user
		return nil
	}), nil
}

func (s *relaySession) Reset()        {}
func (s *relaySession) Logout() error { return nil }

func (s *relaySession) Mail(from string, o *smtp.MailOptions) error {
	s.now.from, s.now.envelope = from, o.EnvelopeID
	if _, ok := s.conn.TLSConnectionState(); ok {
		s.now.encrypted = true
	}
	return nil
}

func (s *relaySession) Rcpt(to string, _ *smtp.RcptOptions) error {
	if s.refuse != nil {
		return s.refuse
	}
	s.now.to = to
	return nil
}

func (s *relaySession) Data(r io.Reader) error {
	raw, err := io.ReadAll(r)
	if err != nil {
		return err
	}
	if s.final != nil {
		return s.final
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.now.raw = raw
	s.got = append(s.got, s.now)
	return nil
}

// sender makes the kit's shop send through a relay.
func (k *kit) sender(r *relay, how string, change ...func(*email.Outbound)) *email.Sender {
	k.t.Helper()
	k.box.Mail.Relay = shop.Relay{Host: r.host, Port: r.port, TLS: how}
	o := email.Outbound{Box: k.box, Records: k.store, Clock: k.clock, Pages: templates.Mail, TLS: &tls.Config{RootCAs: r.roots, MinVersion: tls.VersionTLS12}}
	for _, c := range change {
		c(&o)
	}
	s, err := email.NewSender(o)
	require.NoError(k.t, err)
	return s
}

// post sends all that waits in the outbox to e-mail addresses, and gives what arrived.
func (k *kit) post(s *email.Sender, r *relay) []mailed {
	k.t.Helper()
	r.mu.Lock()
	r.got = nil
	r.mu.Unlock()
	for _, o := range k.sendAll() {
		if o.Line.Gateway == "mail" {
			require.Equal(k.t, "sent", s.Send(context.Background(), o.Shop, o.Line).Kind)
		}
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.got
}
