package main

import (
	"fmt"
	"net"
	"net/http"
	"time"

	"github.com/gin-gonic/gin"

	"tubhand/internal/console"
)

// staffSite is the staff pages on an address of their own. There is no sign-in yet:
// whoever reaches them acts as any of the staff. So they are off unless asked for, take
// connections of this machine alone, and are never on the address that gateways post
// to, where a proxy would pass strangers on as if they were local.
type staffSite struct {
	listener net.Listener
	web      *http.Server
}

// listenForStaff opens the address; an empty one is no site and no error.
func listenForStaff(address string) (net.Listener, error) {
	if address == "" {
		return nil, nil
	}
	host, _, err := net.SplitHostPort(address)
	if err != nil {
		return nil, fmt.Errorf("--console %q: %w; write it like 127.0.0.1:8081", address, err)
	}
	if ip := net.ParseIP(host); ip == nil || !ip.IsLoopback() {
		return nil, fmt.Errorf("--console %q: there is no sign-in yet, so staff pages are for this machine alone; write 127.0.0.1:8081 and reach it through an SSH tunnel", address)
	}
	l, err := net.Listen("tcp", address)
	if err != nil {
		return nil, fmt.Errorf("--console: %w; name another address", err)
	}
	return l, nil
}

// staffPages makes the site with a console for each shop.
func (s *server) staffPages(l net.Listener) (*staffSite, error) {
	r := gin.New()
	if err := r.SetTrustedProxies(nil); err != nil {
		return nil, err
	}
	r.Use(s.survive())
	site := &staffSite{listener: l, web: &http.Server{
		Handler: r, ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 15 * time.Second,
		WriteTimeout: 30 * time.Second, IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 32 << 10,
	}}
	for _, f := range s.shops {
		pages, err := console.New(console.Options{
			Shop: &f.Shop, Store: s.store, Runner: s.turns, Clock: s.clock, Flows: s.flows, Log: s.log, LoopbackOnly: true,
		})
		if err != nil {
			return nil, err
		}
		pages.Mount(r.Group("/staff/" + f.Shop.Key))
		site.web.RegisterOnShutdown(pages.Close)
	}
	return site, nil
}
