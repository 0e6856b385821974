package main

import (
	"context"
	"crypto/tls"
	"errors"
	"flag"
	"fmt"
	"io"
	"net"
	"net/http"
	"sync"

	"github.com/prometheus/client_golang/prometheus"

	"tubhand/internal/channel/email"
	"tubhand/internal/channel/email/ticket"
	"tubhand/internal/channel/sms/sign"
	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/dispatch"
	"tubhand/internal/shop"
	"tubhand/internal/shop/field"
	"tubhand/internal/turn"
	"tubhand/templates"
)

// smtpOptions are the settings of the SMTP server, which is for all shops' mailboxes.
type smtpOptions struct{ listen, name, certificate, key string }

func (o *smtpOptions) flags(f *flag.FlagSet) {
	f.StringVar(&o.listen, "smtp", "", "`address` to take mail on, like :2525; left out: mail is only taken where it is posted")
	f.StringVar(&o.name, "smtp-name", "localhost", "host `name` that the SMTP server calls itself, as in its MX record")
	f.StringVar(&o.certificate, "smtp-cert", "", "`file` with the certificate for STARTTLS, in PEM")
	f.StringVar(&o.key, "smtp-key", "", "`file` with its private key, in PEM")
}

// wrong says what is wrong with the settings; "" when nothing is.
func (o *smtpOptions) wrong() string {
	switch {
	case (o.certificate == "") != (o.key == ""):
		return "--smtp-cert and --smtp-key go together"
	case o.listen == "" && o.certificate != "":
		return "--smtp-cert goes with --smtp"
	}
	return ""
}

// post is the mail side of a server.
type post struct {
	boxes    []email.Box
	inbound  *email.Inbound
	listener net.Listener // nil: no SMTP
	smtp     *email.Server
}

// readBoxes reads the shops' mailboxes and their keys. The shops' worlds need those too.
func (s *server) readBoxes(v shop.Vault) error {
	for _, f := range s.shops {
		if f.Mail == nil {
			continue
		}
		key, err := f.Mail.Key.Read(v)
		if err != nil {
			return fmt.Errorf("shop %q: mail: key: %w", f.Shop.Key, err)
		}
		f.Shop.Secret = key
		box := email.Box{Shop: &f.Shop, Mail: f.Mail, Key: ticket.Key(key)}
		if f.Mail.Sign != nil {
			if box.Hook, err = hook(f.Mail, v, s.clock); err != nil {
				return fmt.Errorf("shop %q: mail: callbacks: %w", f.Shop.Key, err)
			}
		}
		s.post.boxes = append(s.post.boxes, box)
	}
	return nil
}

// hook makes what verifies posted mail.
func hook(m *shop.Mail, v shop.Vault, c clock.Clock) (func(*email.Posted) error, error) {
	var secrets [][]byte
	for _, ref := range m.Sign.Secrets {
		secret, err := ref.Read(v)
		if err != nil {
			return nil, err
		}
		secrets = append(secrets, secret)
	}
	check, err := sign.New(*m.Sign, secrets)
	if err != nil {
		return nil, err
	}
	return func(p *email.Posted) error {
		query, err := field.ParseForm(p.Query)
		if err != nil {
			return err
		}
		return check.Verify(&sign.Request{
			URL: m.Public + p.Path, Header: p.Header, Query: query, Body: p.Body,
			Form: func() (field.Pairs, error) { return nil, errors.New("a message is no form") },
		}, c.Now())
	}, nil
}

// mailSenders adds a sender for each mailbox.
func (s *server) mailSenders(v shop.Vault, byName map[[2]string]dispatch.Sender) error {
	for _, b := range s.post.boxes {
		o := email.Outbound{Box: b, Records: s.store, Clock: s.clock, Pages: templates.Mail}
		if b.Mail.Relay.User != "" {
			password, err := b.Mail.Relay.Password.Read(v)
			if err != nil {
				return fmt.Errorf("shop %q: mail: relay: password: %w", b.Shop.Key, err)
			}
			o.Password = string(password)
		}
		for _, d := range b.Mail.DKIM {
			text, err := d.Key.Read(v)
			if err != nil {
				return fmt.Errorf("shop %q: mail: dkim: %w", b.Shop.Key, err)
			}
			key, err := shop.PrivateKey(text)
			if err != nil {
				return fmt.Errorf("shop %q: mail: dkim: %s: %w", b.Shop.Key, d.Selector, err)
			}
			o.Signers = append(o.Signers, email.Signer{Selector: d.Selector, Domain: d.Domain, Key: key})
		}
		one, err := email.NewSender(o)
		if err != nil {
			return fmt.Errorf("shop %q: %w", b.Shop.Key, err)
		}
		byName[[2]string{b.Shop.Key, conversation.MailGateway}] = one
	}
	return nil
}

// openMail puts the inbound side together and mounts its paths.
func (s *server) openMail(known []*conversation.Shop) error {
	if len(s.post.boxes) == 0 {
		return nil
	}
	count := prometheus.NewCounterVec(prometheus.CounterOpts{Name: "tubhand_mail_total", Help: "Messages that came in, by what became of them."}, []string{"outcome"})
	s.meters.registry.MustRegister(count)
	var err error
	s.post.inbound, err = email.New(email.Config{
		Boxes: s.post.boxes, Turns: turn.NewPagers(s.turns, s.store.View, known), Reports: dispatch.Reports{Ledger: s.store, Turns: s.turns},
		Records: s.store, DNS: net.DefaultResolver, Clock: s.clock, Log: s.log, Pages: templates.Mail, Urgent: urgent,
		Observe: func(outcome string) { count.WithLabelValues(outcome).Inc() },
	})
	if err != nil {
		return err
	}
	s.post.inbound.Mount(s.router)
	return nil
}

// openSMTP takes the address of the SMTP server; nothing is served yet.
func (s *server) openSMTP(o smtpOptions) error {
	if o.listen == "" {
		return nil
	}
	if s.post.inbound == nil {
		return errors.New("--smtp: no shop has a mailbox; add mail: to a shop file")
	}
	var encrypted *tls.Config
	if o.certificate != "" {
		pair, err := tls.LoadX509KeyPair(o.certificate, o.key)
		if err != nil {
			return fmt.Errorf("--smtp-cert: %w", err)
		}
		encrypted = &tls.Config{Certificates: []tls.Certificate{pair}, MinVersion: tls.VersionTLS12}
	}
	l, err := net.Listen("tcp", o.listen)
	if err != nil {
		return fmt.Errorf("%w; name another address with --smtp", err)
	}
	s.post.listener, s.post.smtp = l, s.post.inbound.SMTP(o.name, encrypted)
	return nil
}

// runMail serves SMTP, if it is wanted. What it gives back ends that, letting what is in
// hand come to its end; it may be called again.
func (s *server) runMail(ended chan<- error, out io.Writer) (stop func(context.Context)) {
	if s.post.smtp == nil {
		return func(context.Context) {}
	}
	still := make(chan struct{})
	go func() {
		defer close(still)
		if err := s.post.smtp.Serve(s.post.listener); err != nil && !errors.Is(err, http.ErrServerClosed) {
			ended <- err
		}
	}()
	fmt.Fprintf(out, "taking mail on %s\n", s.post.listener.Addr())
	var once sync.Once
	return func(ctx context.Context) {
		once.Do(func() {
			_ = s.post.listener.Close()
			if err := s.post.smtp.Shutdown(ctx); err != nil {
				s.log.Warn("mail was cut short", "error", err)
			}
		})
		<-still
	}
}
