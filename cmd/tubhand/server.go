package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"runtime/debug"
	"time"

	"github.com/gin-gonic/gin"

	"tubhand/flows"
	"tubhand/internal/channel/sms"
	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/dispatch"
	"tubhand/internal/flow"
	"tubhand/internal/rights"
	"tubhand/internal/shop"
	"tubhand/internal/store"
	"tubhand/internal/turn"
	"tubhand/internal/wording"
	"tubhand/templates"
)

// server is everything that runs while shops are served.
type server struct {
	store    store.Store
	shops    []*shop.File
	flows    *flow.Set
	vault    shop.Vault
	deciders map[string]turn.Decider // by shop
	clock    clock.Clock
	log      *slog.Logger
	meters   *meters
	turns    *turn.Runner
	register *rights.Register
	dispatch *dispatch.Dispatcher
	router   *gin.Engine
	links    links
	staff    *staffSite // nil: no staff pages
	post     post
}

// serve runs until ctx ends, then lets what is in hand come to its end.
func serve(ctx context.Context, o serveOptions, shops []*shop.File, s streams) (err error) {
	log := newLog(s.err, s.env("TUBHAND_LOG"))
	st, look, err := openStore(ctx, o, log)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	o.look = look
	o.vault = shop.Vault{Env: s.env, File: os.ReadFile}
	srv, err := newServer(o, st, shops, log)
	if err != nil {
		return err
	}
	listener, err := net.Listen("tcp", o.listen)
	if err != nil {
		return fmt.Errorf("%w; name another address with --listen", err)
	}
	if err := srv.openStaff(o.staff); err != nil {
		return errors.Join(err, listener.Close())
	}
	if err := srv.openSMTP(o.smtp); err != nil {
		return errors.Join(err, listener.Close())
	}
	return srv.run(ctx, listener, s.out)
}

// newServer puts the parts together. Nothing runs yet.
func newServer(o serveOptions, st store.Store, shops []*shop.File, log *slog.Logger) (*server, error) {
	s := &server{store: st, shops: shops, clock: o.clock, vault: o.vault, log: log, meters: newMeters(st, shops)}
	if err := s.readBoxes(o.vault); err != nil {
		return nil, err
	}
	worlds, err := s.worlds()
	if err != nil {
		return nil, err
	}
	if o.around != nil {
		for key, w := range worlds {
			worlds[key] = o.around(w)
		}
	}
	if s.register, err = openRegister(st, shops, s.clock, o.vault); err != nil {
		return nil, err
	}
	s.deciders = worlds
	s.turns = turn.New(turn.Config{
		Store: st, Shops: worlds, Clock: s.clock, Log: log, Observe: s.meters.turn, OptOuts: s.register,
		Committed: func(_ string, fx conversation.Effects) { s.dispatch.Poke(fx) },
	})
	if o.senders == nil {
		if o.senders, err = s.senders(o.vault); err != nil {
			return nil, err
		}
	}
	s.dispatch = s.dispatcher(o)
	if err := s.routes(o); err != nil {
		return nil, err
	}
	return s, nil
}

// dispatcher makes what sends and what fires reminders; it is not started.
func (s *server) dispatcher(o serveOptions) *dispatch.Dispatcher {
	return dispatch.New(dispatch.Config{
		Queue: s.store, Turns: s.turns, Sender: o.senders, Clock: s.clock, Log: s.log,
		Random: rand.Float64, Observe: s.meters.send, Look: o.look,
	})
}

// worlds reads the flows and the wording, and makes each shop's world of them.
func (s *server) worlds() (map[string]turn.Decider, error) {
	var err error
	if s.flows, err = flow.Load(flows.FS); err != nil {
		return nil, err
	}
	words, err := wording.Load(templates.FS)
	if err != nil {
		return nil, err
	}
	worlds := map[string]turn.Decider{}
	for _, f := range s.shops {
		w, err := conversation.NewWorld(f.Shop, s.flows, words)
		if err != nil {
			return nil, err
		}
		worlds[f.Shop.Key] = w
	}
	return worlds, nil
}

// senders gives each shop's gateways a sender.
func (s *server) senders(v shop.Vault) (func(shop, gateway string) (dispatch.Sender, bool), error) {
	byName := map[[2]string]dispatch.Sender{}
	first := map[[2]string]*sms.Sender{} // at each gateway and address
	for _, f := range s.shops {
		for _, g := range f.Gateways {
			if g.SMPP != nil {
				byName[[2]string{f.Shop.Key, g.Name}] = linkSender{s, g.Name}
				continue
			}
			one, err := sms.NewSender(g, v, s.store, s.clock, s.log)
			if err != nil {
				return nil, fmt.Errorf("shop %q: %w", f.Shop.Key, err)
			}
			if other, ok := first[[2]string{g.Name, g.Web.Send.URL}]; ok {
				one.SharePace(other)
			} else {
				first[[2]string{g.Name, g.Web.Send.URL}] = one
			}
			byName[[2]string{f.Shop.Key, g.Name}] = one
		}
	}
	if err := s.mailSenders(v, byName); err != nil {
		return nil, err
	}
	return func(shop, gateway string) (dispatch.Sender, bool) {
		one, ok := byName[[2]string{shop, gateway}]
		return one, ok
	}, nil
}

// routes puts the HTTP side together.
func (s *server) routes(o serveOptions) error {
	gin.SetMode(gin.ReleaseMode)
	r := gin.New()
	if err := r.SetTrustedProxies(nil); err != nil {
		return err
	}
	r.HandleMethodNotAllowed = true
	r.Use(s.survive())
	s.router = r
	s.wellness(r)

	var known []*conversation.Shop
	for _, f := range s.shops {
		known = append(known, &f.Shop)
	}
	pictures, err := pictureFolder(o, s.shops)
	if err != nil {
		return err
	}
	inbound, err := sms.New(sms.Config{
		Shops: s.shops, Vault: o.vault, Receipts: s.store, Folder: pictures, Turns: turn.NewPagers(s.turns, s.store.View, known),
		Reports: dispatch.Reports{Ledger: s.store, Turns: s.turns},
		Clock:   s.clock, Log: s.log, Observe: s.meters.text,
		Urgent: urgent,
	})
	if err != nil {
		return err
	}
	inbound.Mount(r)
	if err := s.openMail(known); err != nil {
		return err
	}
	return s.openLinks(o.vault, inbound)
}

// survive answers 500 where a handler panics, and logs why. Strangers learn nothing.
func (s *server) survive() gin.HandlerFunc {
	return gin.CustomRecoveryWithWriter(io.Discard, func(c *gin.Context, p any) {
		s.log.Error("a handler panicked", "path", c.FullPath(), "panic", fmt.Sprint(p), "stack", string(debug.Stack()))
		c.AbortWithStatus(http.StatusInternalServerError)
	})
}

// grace is how long a shutdown waits for requests and messages in hand.
const grace = 10 * time.Second

// run serves until ctx ends. The address is told once connections are taken.
func (s *server) run(ctx context.Context, l net.Listener, out io.Writer) error {
	web := &http.Server{
		Handler: s.router, ErrorLog: slog.NewLogLogger(s.log.Handler(), slog.LevelWarn),
		ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 15 * time.Second,
		WriteTimeout: 30 * time.Second, IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 32 << 10,
	}
	working, cut := context.WithCancel(context.WithoutCancel(ctx))
	defer cut()
	s.dispatch.Start(working)
	defer s.dispatch.Stop()
	stopLinks := s.runLinks(working)
	defer stopLinks()
	defer s.runSweeps(working)()
	ended := make(chan error, 3)
	go func() { ended <- web.Serve(l) }()
	fmt.Fprintf(out, "listening on %s\n", address(l.Addr().String()))
	if s.staff != nil {
		go func() { ended <- s.staff.serve() }()
		defer s.staff.web.Close()
		fmt.Fprintln(out, s.staff.told)
	}
	stopMail := s.runMail(ended, out)
	defer stopMail(working)
	s.log.Info("serving", "address", l.Addr().String(), "shops", len(s.shops))
	select {
	case err := <-ended:
		return err
	case <-ctx.Done():
	}
	s.log.Info("stopping: no new requests, what is in hand comes to its end")
	last, done := context.WithTimeout(working, grace)
	defer done()
	if s.staff != nil {
		// Beside the owners' side, so that an open page does not use up the grace.
		go func() { _ = s.staff.web.Shutdown(last) }()
	}
	go stopMail(last)
	err := web.Shutdown(last)
	if err != nil {
		err = fmt.Errorf("requests were cut short: %w", errors.Join(err, web.Close()))
	}
	context.AfterFunc(last, cut)
	s.dispatch.Stop()
	stopLinks()
	s.log.Info("stopped")
	return err
}
