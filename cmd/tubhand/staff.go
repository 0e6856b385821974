package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"time"

	"github.com/gin-gonic/gin"

	"tubhand/internal/console"
	"tubhand/internal/shop"
	"tubhand/internal/staff"
)

// staffOptions say where the staff pages are and who ends TLS before them.
type staffOptions struct {
	address   string // "" for no staff pages
	cert, key string // files of the certificate and its key; "" for no TLS here
	proxy     bool   // a proxy ends TLS and passes requests on
	url       string // what staff type into the browser, like https://staff.example
}

// flags defines the flags that set the options.
func (o *staffOptions) flags(flags *flag.FlagSet) {
	flags.StringVar(&o.address, "console", "", "`address` for the staff pages, like 127.0.0.1:8081; left out: none")
	flags.StringVar(&o.cert, "console-tls-cert", "", "`file` of the certificate (PEM) for staff pages that other machines reach")
	flags.StringVar(&o.key, "console-tls-key", "", "`file` of its key (PEM)")
	flags.BoolVar(&o.proxy, "console-proxy", false, "a proxy before the staff pages ends TLS and sets X-Forwarded-For")
	flags.StringVar(&o.url, "console-url", "", "what staff type to reach the pages, like https://staff.example; passkeys need it")
}

// wrong says what does not fit together in the options; "" when all does.
func (o *staffOptions) wrong() string {
	u, err := url.Parse(o.url)
	switch {
	case (o.cert == "") != (o.key == ""):
		return "--console-tls-cert and --console-tls-key go together"
	case o.cert != "" && o.proxy:
		return "--console-proxy says that a proxy ends TLS; then leave --console-tls-cert out"
	case o.address == "" && (o.cert != "" || o.proxy || o.url != ""):
		return "--console-tls-cert, --console-proxy and --console-url go with --console"
	case o.url != "" && (err != nil || u.Host == "" || u.Path != "" || u.Scheme != "http" && u.Scheme != "https"):
		return fmt.Sprintf("--console-url %q: write it like https://staff.example, without a path", o.url)
	case o.url != "" && o.secure() != (u.Scheme == "https"):
		return "--console-url begins with https:// where there is TLS, and with http:// where there is none"
	}
	return ""
}

// secure tells whether browsers come over TLS.
func (o *staffOptions) secure() bool { return o.cert != "" || o.proxy }

// listen opens the address; an empty one is no site and no error. Without TLS only this
// machine is let in, since passwords would pass in the clear.
func (o *staffOptions) listen() (net.Listener, error) {
	if o.address == "" {
		return nil, nil
	}
	host, _, err := net.SplitHostPort(o.address)
	if err != nil {
		return nil, fmt.Errorf("--console %q: %w; write it like 127.0.0.1:8081", o.address, err)
	}
	ip := net.ParseIP(host)
	if !o.secure() && (ip == nil || !ip.IsLoopback()) {
		return nil, fmt.Errorf("--console %q: without TLS the staff pages are for this machine alone, like 127.0.0.1:8081; "+
			"name a certificate with --console-tls-cert and --console-tls-key, or say --console-proxy where a proxy ends TLS", o.address)
	}
	l, err := net.Listen("tcp", o.address)
	if err != nil {
		return nil, fmt.Errorf("--console: %w; name another address", err)
	}
	return l, nil
}

// origin is where browsers find the pages, for passkeys: as told, else by the name that
// every machine has for itself; "" where it is not known.
func (o *staffOptions) origin(at net.Addr) string {
	if o.url != "" || o.secure() {
		return o.url
	}
	_, port, err := net.SplitHostPort(at.String())
	if err != nil {
		return ""
	}
	return "http://localhost:" + port
}

// staffSite is the staff pages on an address of their own, never that which gateways post
// to: who reaches the one need not reach the other.
type staffSite struct {
	listener net.Listener
	web      *http.Server
	told     string // what to say of it at the start
}

// serve takes connections until the site is shut down.
func (s *staffSite) serve() error {
	if s.web.TLSConfig != nil {
		return s.web.ServeTLS(s.listener, "", "")
	}
	return s.web.Serve(s.listener)
}

// staffPages makes the site with a console for each shop.
func (s *server) staffPages(l net.Listener, o staffOptions) (*staffSite, error) {
	r := gin.New()
	if err := r.SetTrustedProxies(nil); err != nil {
		return nil, err
	}
	r.Use(s.survive())
	site := &staffSite{listener: l, told: "staff pages, for this machine alone, on " + address(l.Addr().String()), web: &http.Server{
		Handler: r, ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 15 * time.Second,
		WriteTimeout: 30 * time.Second, IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 32 << 10,
	}}
	if o.secure() {
		site.told = "staff pages, behind a proxy, on " + address(l.Addr().String())
	}
	if o.cert != "" {
		files, err := newCertificate(o.cert, o.key, s.clock)
		if err != nil {
			return nil, err
		}
		site.web.TLSConfig = files.config()
		site.told = "staff pages on https" + address(l.Addr().String())[len("http"):]
	}
	scripts := newLibrary(s.flows)
	for _, f := range s.shops {
		desk, err := staff.New(staff.Config{Store: s.store, Shop: f.Shop.Key, Name: f.Shop.Name, Clock: s.clock, Origin: o.origin(l.Addr())})
		if err != nil {
			return nil, err
		}
		pages, err := console.New(console.Options{
			Shop: &f.Shop, Store: s.store, Runner: s.turns, Clock: s.clock, Flows: s.flows, Log: s.log,
			Desk: desk, Secure: o.secure(), Proxied: o.proxy, LoopbackOnly: !o.secure(),
			Decider: s.deciders[f.Shop.Key], Rehearser: scripts,
			Settings: func() shop.Summary { return f.Summary(s.vault) },
		})
		if err != nil {
			return nil, err
		}
		if err := s.tellOfAccounts(desk); err != nil {
			return nil, err
		}
		pages.Mount(r.Group("/staff/" + f.Shop.Key))
		site.web.RegisterOnShutdown(pages.Close)
	}
	return site, nil
}

// tellOfAccounts says in the log what keeps staff out.
func (s *server) tellOfAccounts(d *staff.Desk) error {
	ctx, done := context.WithTimeout(context.Background(), 10*time.Second)
	defer done()
	all, err := d.Accounts(ctx)
	if err != nil {
		return fmt.Errorf("accounts of shop %s: %w", d.Shop, err)
	}
	if len(all) == 0 {
		s.log.Warn("nobody can sign in to the staff pages yet; end the server and make the first account with tubhand account add", "shop", d.Shop)
	}
	if !d.Passkeys() {
		s.log.Warn("there are no passkeys on the staff pages; say with --console-url what name they are reached by", "shop", d.Shop)
	}
	return nil
}

// openStaff opens the staff pages where they are asked for.
func (s *server) openStaff(o staffOptions) error {
	l, err := o.listen()
	if l == nil || err != nil {
		return err
	}
	if s.staff, err = s.staffPages(l, o); err != nil {
		return errors.Join(err, l.Close())
	}
	return nil
}
