package main

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"math/rand/v2"
	"net"
	"reflect"
	"sync"

	"github.com/prometheus/client_golang/prometheus"

	"tubhand/internal/channel/smpp"
	"tubhand/internal/channel/sms"
	"tubhand/internal/conversation"
	"tubhand/internal/dispatch"
	"tubhand/internal/safety"
	"tubhand/internal/shop"
	"tubhand/internal/store"
	"tubhand/internal/understand"
)

// links are the connections to message centers, by gateway. A gateway that several shops
// name is one connection.
type links map[string]*smpp.Link

// openLinks makes the links that the shop files describe; none is connected yet.
func (s *server) openLinks(v shop.Vault, in *sms.Inbound) error {
	s.links = links{}
	described := map[string]*shop.SMPP{}
	shops := map[string][]string{}
	for _, f := range s.shops {
		for _, g := range f.Gateways {
			if g.SMPP == nil {
				continue
			}
			if other, ok := described[g.Name]; ok && !reflect.DeepEqual(other, g.SMPP) {
				return fmt.Errorf("shop %q describes the gateway %q otherwise than another shop does; give it another name, or the same description", f.Shop.Key, g.Name)
			}
			described[g.Name] = g.SMPP
			shops[g.Name] = append(shops[g.Name], f.Shop.Key)
		}
	}
	if len(described) == 0 {
		return nil
	}
	count := s.meters.links(s)
	for name, d := range described {
		settings, err := linkSettings(name, d, v)
		if err != nil {
			return fmt.Errorf("gateway %q: %w", name, err)
		}
		s.links[name] = smpp.New(smpp.Config{
			Settings: settings, Shops: shops[name], Texts: linkTexts{in},
			Reports: dispatch.Reports{Ledger: s.store, Turns: s.turns}, Documents: s.store,
			Clock: s.clock, Log: s.log, Random: rand.Float64, Urgent: urgent,
			Observe: func(event string) { count.WithLabelValues(name, event).Inc() },
		})
	}
	return nil
}

// linkSettings reads the secret and the certificates that a description names.
func linkSettings(name string, d *shop.SMPP, v shop.Vault) (smpp.Settings, error) {
	set := smpp.Settings{
		Gateway: name, Address: d.Address, SystemID: d.SystemID, SystemType: d.SystemType, Alphabet: smpp.Alphabet(d.Alphabet),
		Long: smpp.Long(d.LongTexts), PerSecond: d.PerSecond, Window: d.Window, Validity: d.Validity, Silent: !d.Receipts,
	}
	password, err := d.Password.Read(v)
	if err != nil {
		return set, fmt.Errorf("password: %w", err)
	}
	if set.Password = string(password); len(password) > 8 {
		return set, fmt.Errorf("password: in %s there are %d characters, and SMPP takes 8", d.Password, len(password))
	}
	if !d.TLS {
		return set, nil
	}
	host, _, err := net.SplitHostPort(d.Address)
	if err != nil {
		return set, fmt.Errorf("address: %w", err)
	}
	set.TLS = &tls.Config{ServerName: host, MinVersion: tls.VersionTLS12}
	if d.TLSRoots == "" {
		return set, nil
	}
	pem, err := v.File(d.TLSRoots)
	if err != nil {
		return set, fmt.Errorf("tls_roots: %w", err)
	}
	if set.TLS.RootCAs = x509.NewCertPool(); !set.TLS.RootCAs.AppendCertsFromPEM(pem) {
		return set, fmt.Errorf("tls_roots: there is no PEM certificate in %s", d.TLSRoots)
	}
	return set, nil
}

// runLinks brings the links up, and gives what takes them down in order.
func (s *server) runLinks(ctx context.Context) (stop func()) {
	ctx, cancel := context.WithCancel(ctx)
	var running sync.WaitGroup
	for _, l := range s.links {
		running.Go(func() { l.Run(ctx) })
	}
	return func() {
		cancel()
		running.Wait()
	}
}

// linkSender sends over the link of a gateway, which is made after the senders are.
type linkSender struct {
	server  *server
	gateway string
}

// Send implements dispatch.Sender.
func (l linkSender) Send(ctx context.Context, shop string, line conversation.Line) store.Result {
	return l.server.links[l.gateway].Send(ctx, shop, line)
}

// linkTexts hands texts of a link to where callbacks' texts go.
type linkTexts struct{ *sms.Inbound }

// Take implements smpp.Texts.
func (t linkTexts) Take(ctx context.Context, gateway string, text smpp.Text) error {
	err := t.Inbound.Take(ctx, gateway, sms.Text(text))
	switch {
	case errors.Is(err, sms.ErrNoLine):
		return fmt.Errorf("%w: %w", smpp.ErrNoLine, err)
	case errors.Is(err, sms.ErrNoSender):
		return fmt.Errorf("%w: %w", smpp.ErrNoSender, err)
	}
	return err
}

// urgent tells an emergency by its words alone.
func urgent(text string) bool {
	return understand.Understand(text, understand.Context{}).Severity == safety.Emergency
}

// links counts what links do, and tells which are up.
func (m *meters) links(s *server) *prometheus.CounterVec {
	count := prometheus.NewCounterVec(prometheus.CounterOpts{Name: "tubhand_link_events_total",
		Help: "What happened on links to message centers, by gateway."}, []string{"gateway", "event"})
	m.registry.MustRegister(count, &bound{server: s, up: prometheus.NewDesc("tubhand_link_up",
		"Whether the link to a message center is bound.", []string{"gateway"}, nil)})
	return count
}

// bound tells which links are up whenever the metrics are read.
type bound struct {
	server *server
	up     *prometheus.Desc
}

// Describe implements prometheus.Collector.
func (b *bound) Describe(ch chan<- *prometheus.Desc) { ch <- b.up }

// Collect implements prometheus.Collector.
func (b *bound) Collect(ch chan<- prometheus.Metric) {
	for name, l := range b.server.links {
		value := 0.0
		if l.Bound() {
			value = 1
		}
		ch <- prometheus.MustNewConstMetric(b.up, prometheus.GaugeValue, value, name)
	}
}
