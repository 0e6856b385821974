package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"sync/atomic"
	"time"

	"github.com/gin-gonic/gin"

	"tubhand/internal/bench"
	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/dispatch"
	"tubhand/internal/phone"
	"tubhand/internal/shop"
	"tubhand/internal/store"
	"tubhand/internal/store/redis"
	"tubhand/internal/store/sqlite"
)

// measurement is one run of bench.
type measurement struct {
	benchOptions
	clock clock.Clock
	rigs  int
	out   io.Writer                                                    // for the profile tubs
	again func(ctx context.Context, args []string) (*restarted, error) // starts bench anew, in a process of its own
}

// rig is a real server on a new store, on the loopback.
type rig struct {
	*server
	options serveOptions
	shop    *shop.File
	address string
	bare    func(ctx context.Context, sample store.Turn) (bareStore, error)
	keeps   string
	end     []func() error
}

// bareStore is the yardstick of a store.
type bareStore interface {
	Turn(ctx context.Context, tub, n int64) error
	Close() error
}

// gatewayTakes is how long the pretend gateway takes for a message.
const gatewayTakes = 20 * time.Millisecond

// slowGateway takes every message, after a while.
type slowGateway struct{ clock clock.Clock }

func (g slowGateway) Send(ctx context.Context, _ string, _ conversation.Line) store.Result {
	if g.clock.Wait(ctx, g.clock.Now().Add(gatewayTakes), nil) != nil {
		return store.Result{Kind: store.Retry, Why: "cut short"}
	}
	return store.Result{Kind: store.Sent}
}

// work starts the dispatcher, which is stopped when the rig is closed.
func (r *rig) work(ctx context.Context) {
	r.dispatch.Start(ctx)
	r.end = append(r.end, func() error { r.dispatch.Stop(); return nil })
}

// rig builds a server on a new store. Its dispatcher is not started.
func (m *measurement) rig(ctx context.Context, c clock.Clock) (r *rig, err error) {
	m.rigs++
	r = &rig{shop: shop.Demo()}
	defer func() {
		if err != nil {
			err = errors.Join(err, r.close())
		}
	}()
	st, err := m.open(ctx, r)
	if err != nil {
		return r, err
	}
	r.options = serveOptions{clock: c, senders: func(_, _ string) (dispatch.Sender, bool) { return slowGateway{m.clock}, true }}
	if r.server, err = newServer(r.options, st, []*shop.File{r.shop}, slog.New(slog.DiscardHandler)); err != nil {
		return r, err
	}
	r.address, err = r.listen(r.router)
	return r, err
}

// open opens the new store.
func (m *measurement) open(ctx context.Context, r *rig) (store.Store, error) {
	if m.store == "redis" {
		return m.openRedis(ctx, r)
	}
	folder := m.on
	if folder == "" {
		made, err := os.MkdirTemp(m.data, "tubhand-bench-")
		if err != nil {
			return nil, err
		}
		folder = made
		r.end = append(r.end, func() error { return os.RemoveAll(folder) })
	}
	s, err := sqlite.Open(filepath.Join(folder, "tubhand.db"), sqlite.Options{})
	if err != nil {
		return nil, err
	}
	r.end = append(r.end, s.Close)
	r.keeps = "each acknowledged turn is on the disk"
	r.bare = func(_ context.Context, sample store.Turn) (bareStore, error) {
		return sqlite.OpenBare(filepath.Join(folder, "bare.db"), sample)
	}
	return s, nil
}

func (m *measurement) openRedis(ctx context.Context, r *rig) (store.Store, error) {
	address, err := m.redis.where()
	if err != nil {
		return nil, err
	}
	o := redis.Options{Name: fmt.Sprintf("tubhand-bench-%d-%d", os.Getpid(), m.rigs), Level: m.redis.level, Replicas: m.redis.replicas}
	s, err := redis.Open(ctx, address, o)
	if err != nil {
		return nil, err
	}
	r.end = append(r.end, func() error { return errors.Join(s.Erase(context.WithoutCancel(ctx)), s.Close()) })
	servers, err := s.Durability(ctx)
	if err != nil {
		return nil, err
	}
	r.keeps, _ = servers[0].Says()
	r.bare = func(ctx context.Context, sample store.Turn) (bareStore, error) {
		return redis.OpenBare(ctx, address, o, sample)
	}
	return s, nil
}

// listen serves on the loopback and gives the address.
func (r *rig) listen(h http.Handler) (string, error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return "", err
	}
	web := &http.Server{Handler: h, ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 15 * time.Second, WriteTimeout: 30 * time.Second}
	go func() { _ = web.Serve(l) }()
	r.end = append(r.end, web.Close)
	return l.Addr().String(), nil
}

// close ends everything, last first.
func (r *rig) close() error {
	var errs []error
	for i := len(r.end) - 1; i >= 0; i-- {
		errs = append(errs, r.end[i]())
	}
	r.end = nil
	return errors.Join(errs...)
}

// load is texts of owners who go through a service, each from a number of its own.
func (m *measurement) load(r *rig, address string) bench.Load {
	type owner struct{ number, step int }
	owners := make([]owner, m.connections)
	var numbers atomic.Int64
	numbers.Store(int64(m.connections))
	for i := range owners {
		owners[i].number = i
	}
	from := texters()
	return bench.Load{Address: address, Path: "/in/sms/" + r.shop.Gateways[0].Name, Connections: m.connections, Clock: m.clock,
		Next: func(connection int) string {
			o := &owners[connection]
			if o.step == len(benchScript) {
				*o = owner{number: int(numbers.Add(1))}
			}
			form := textForm(r.shop.Shop.Line, from[o.number%len(from)], benchScript[o.step], fmt.Sprintf("%d.%d", o.number, o.step))
			o.step++
			return form
		}}
}

// benchScript is what an owner texts up to the wait for the flush, and during it: mostly the next
// step's answer, a reading, a question, a trouble.
var benchScript = [...]string{"hi, need to flush my pipes", "375 gallons", "chlorine", "yes", "yes", "yes", "pump", "sewer", "no",
	"cl 3 ph 7.4 alk 100", "done", "done", "how long is left?", "ok thanks", "how long is left?"}

func textForm(to, from, body, id string) string {
	return "from=" + url.QueryEscape(from) + "&to=" + url.QueryEscape(to) + "&body=" + url.QueryEscape(body) + "&id=" + id
}

// texters are the numbers that texts come from: 555-0100 to 555-0199, which are nobody's, in
// each area code that there is, since a text from a number that cannot be is turned away.
func texters() (list []string) {
	for area := 201; area < 1000; area++ {
		first := fmt.Sprintf("+1%d55501", area)
		if n, err := phone.Parse(first+"00", "US"); err != nil || n.Region != "US" {
			continue
		}
		for last := range 100 {
			list = append(list, fmt.Sprintf("%s%02d", first, last))
		}
	}
	return list
}

// filed is the nth owner who is written straight into the store; there is no area code 555.
func filed(n int) string { return fmt.Sprintf("+1555%07d", n) }

// sample is a turn as they are in the middle of a service: one owner is walked there.
func (m *measurement) sample(ctx context.Context, r *rig) (t store.Turn, err error) {
	walked := filed(0)
	for i, text := range benchScript {
		ev := conversation.Event{ID: "sample:" + strconv.Itoa(i), Kind: conversation.TextIn, From: walked,
			To: r.shop.Shop.Line, Gateway: r.shop.Gateways[0].Name, Text: text}
		if err := r.turns.Handle(ctx, r.shop.Shop.Key, ev); err != nil {
			return t, err
		}
	}
	v := r.store.View(ctx, r.shop.Shop.Key)
	t = store.Turn{Shop: r.shop.Shop.Key, Event: "sample of " + walked, Now: r.clock.Now()}
	if t.State, err = v.Conversation(walked); err != nil {
		return t, err
	}
	if t.Effects.Lines, err = v.Transcript(walked, 2); err != nil {
		return t, err
	}
	t.Effects.Remind, err = v.Reminders(walked)
	if err == nil && (len(t.Effects.Remind) == 0 || len(t.Effects.Lines) != 2) {
		err = errors.New("the script of the measurement no longer leads to a wait")
	}
	return t, err
}

// plainest is the bare server: the same HTTP stack, a form, and the store's yardstick.
func plainest(b bareStore) http.Handler {
	e := gin.New()
	var n atomic.Int64
	e.POST("/in/sms/:gateway", func(c *gin.Context) {
		from, body, id, to := c.PostForm("from"), c.PostForm("body"), c.PostForm("id"), c.PostForm("to")
		last, err := strconv.ParseInt(from[max(0, len(from)-10):], 10, 64)
		if err != nil || body == "" || id == "" || to == "" {
			c.Status(http.StatusBadRequest)
			return
		}
		if err := b.Turn(c.Request.Context(), last, n.Add(1)); err != nil {
			c.Status(http.StatusServiceUnavailable)
			return
		}
		c.Status(http.StatusNoContent)
	})
	return e
}
