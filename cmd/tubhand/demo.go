package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"math/rand/v2"
	"net"
	"net/http"
	"net/netip"
	"os"
	"path/filepath"
	"time"

	"github.com/gin-gonic/gin"

	"tubhand/flows"
	"tubhand/internal/channel/pocket"
	"tubhand/internal/clock"
	"tubhand/internal/console"
	"tubhand/internal/conversation"
	"tubhand/internal/demo"
	"tubhand/internal/dispatch"
	"tubhand/internal/flow"
	"tubhand/internal/rights"
	"tubhand/internal/shop"
	"tubhand/internal/store"
	"tubhand/internal/store/sqlite"
	"tubhand/internal/turn"
	"tubhand/internal/wording"
	"tubhand/templates"
)

// runDemo serves the newcomer's page until ctx ends: the demo shop with its invented
// owners, over a store in a folder that is removed at the end.
func runDemo(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	fs := flag.NewFlagSet("demo", flag.ContinueOnError)
	fs.SetOutput(stderr)
	listen := fs.String("listen", "127.0.0.1:8025", "address to serve the page on")
	fs.Usage = func() {
		fmt.Fprintln(stderr, "usage: tubhand demo [--listen 127.0.0.1:8025]\nA pretend phone beside the staff view of an invented shop. Nothing is sent, nothing is kept.")
		fs.PrintDefaults()
	}
	if err := fs.Parse(args); errors.Is(err, flag.ErrHelp) {
		return 0
	} else if err != nil {
		return 2
	}
	if fs.NArg() > 0 {
		fs.Usage()
		return 2
	}
	d := &demonstration{log: slog.New(slog.NewTextHandler(stderr, &slog.HandlerOptions{Level: slog.LevelWarn})), stdout: stdout}
	if err := d.run(ctx, *listen); err != nil {
		fmt.Fprintf(stderr, "tubhand demo: %v\n", err)
		return 1
	}
	return 0
}

// demonstration is everything that runs in a demo.
type demonstration struct {
	log    *slog.Logger
	stdout io.Writer

	shop       conversation.Shop
	flows      *flow.Set
	clock      *clock.Jumping
	store      store.Store
	world      *conversation.World
	runner     *turn.Runner
	dispatcher *dispatch.Dispatcher
	console    *console.Console
	page       *demo.Page
}

// staffPath is where the demo shows the staff view.
const staffPath = "/staff/"

func (d *demonstration) run(ctx context.Context, listen string) (err error) {
	listener, err := net.Listen("tcp", listen)
	if err != nil {
		return fmt.Errorf("cannot listen on %s: %w; choose another address with --listen", listen, err)
	}
	defer listener.Close()
	folder, err := os.MkdirTemp("", "tubhand-demo-")
	if err != nil {
		return fmt.Errorf("make a folder for the demo: %w", err)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(folder)) }()
	kept, err := sqlite.Open(filepath.Join(folder, "demo.db"), sqlite.Options{})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, kept.Close()) }()
	d.store = kept
	if err := d.build(listener.Addr()); err != nil {
		return err
	}
	if err := d.play(ctx); err != nil {
		return err
	}
	d.dispatcher.Start(ctx)
	defer d.dispatcher.Stop()
	return d.serve(ctx, listener)
}

// build puts the shop, its turns, the dispatcher and the pages together.
func (d *demonstration) build(at net.Addr) error {
	d.shop = shop.Demo().Shop
	d.shop.Gateway = pocket.Gateway
	zone, err := time.LoadLocation(d.shop.TimeZone)
	if err != nil {
		return fmt.Errorf("time zone of the demo shop: %w", err)
	}
	if d.flows, err = flow.Load(flows.FS); err != nil {
		return fmt.Errorf("load flows: %w", err)
	}
	words, err := wording.Load(templates.FS)
	if err != nil {
		return fmt.Errorf("load templates: %w", err)
	}
	if d.world, err = conversation.NewWorld(d.shop, d.flows, words); err != nil {
		return fmt.Errorf("demo shop: %w", err)
	}
	d.clock = clock.NewJumping(demo.Opening(zone).AddDate(0, -4, 0))
	d.runner = turn.New(turn.Config{
		Store: d.store, Shops: map[string]turn.Decider{d.shop.Key: d.world}, Clock: d.clock, Log: d.log,
		OptOuts:   rights.NewRegister(d.store, d.clock, nil),
		Committed: func(_ string, effects conversation.Effects) { d.dispatcher.Poke(effects) },
	})
	d.dispatcher = dispatch.New(dispatch.Config{
		Queue: d.store, Turns: d.runner, Clock: d.clock, Log: d.log, Random: rand.Float64,
		Sender: func(string, string) (dispatch.Sender, bool) { return pocket.Phone{}, true },
	})
	return d.buildPages(at)
}

func (d *demonstration) buildPages(at net.Addr) (err error) {
	d.console, err = console.New(console.Options{
		Shop: &d.shop, Store: d.store, Runner: d.runner, Clock: d.clock, Flows: d.flows,
		Log: d.log, Framed: true, LoopbackOnly: loopback(at),
		Decider: d.world, Rehearser: newLibrary(d.flows),
		Settings: func() shop.Summary { return shop.Demo().Summary(shop.Vault{Env: os.Getenv, File: os.ReadFile}) },
	})
	if err != nil {
		return err
	}
	d.page, err = demo.New(demo.Options{
		Shop: &d.shop, Store: d.store, Runner: d.runner, Clock: d.clock, Log: d.log,
		Gateway: pocket.Gateway, Staff: staffPath,
		Style: d.console.Asset(staffPath, "board.css"), Script: d.console.Asset(staffPath, "live.js"), Icon: d.console.Asset(staffPath, "icon.svg"),
		Headers: func(h http.Header) { console.SecurityHeaders(h, true) },
	})
	return err
}

func (d *demonstration) play(ctx context.Context) error {
	zone, err := time.LoadLocation(d.shop.TimeZone)
	if err != nil {
		return fmt.Errorf("time zone of the demo shop: %w", err)
	}
	return d.page.Play(ctx, demo.Owners(zone), demo.Opening(zone))
}

// loopback tells whether an address is reached from this machine alone.
func loopback(at net.Addr) bool {
	ip, err := netip.ParseAddrPort(at.String())
	return err == nil && ip.Addr().Unmap().IsLoopback()
}

func (d *demonstration) serve(ctx context.Context, listener net.Listener) error {
	gin.SetMode(gin.ReleaseMode)
	router := gin.New()
	router.Use(gin.CustomRecoveryWithWriter(io.Discard, func(g *gin.Context, p any) {
		d.log.Error("a page panicked", "path", g.Request.URL.Path, "panic", fmt.Sprint(p))
		g.AbortWithStatus(http.StatusInternalServerError)
	}))
	local := loopback(listener.Addr())
	router.Use(func(g *gin.Context) {
		if local && !console.ThisMachine(g.Request) {
			g.String(http.StatusForbidden, "The demo is only for the machine that it runs on.\n")
			g.Abort()
		}
	})
	d.page.Mount(router)
	d.console.Mount(router.Group(staffPath))
	server := &http.Server{
		Handler:           http.NewCrossOriginProtection().Handler(router),
		ReadHeaderTimeout: 10 * time.Second,
		IdleTimeout:       2 * time.Minute,
		ErrorLog:          slog.NewLogLogger(d.log.Handler(), slog.LevelWarn),
	}
	server.RegisterOnShutdown(d.console.Close)
	ended := make(chan error, 1)
	go func() { ended <- server.Serve(listener) }()
	fmt.Fprintf(d.stdout, "tubhand demo: %s is open at %s/\n"+
		"Text as an owner on the left, be the shop on the right, jump to the next reminder. Ctrl-C ends it and forgets everything.\n",
		d.shop.Name, address(listener.Addr().String()))
	select {
	case err := <-ended:
		return fmt.Errorf("serve: %w", err)
	case <-ctx.Done():
	}
	last, cancel := context.WithTimeout(context.WithoutCancel(ctx), 5*time.Second)
	defer cancel()
	if err := server.Shutdown(last); err != nil {
		return fmt.Errorf("shut down: %w", err)
	}
	return nil
}
