package smpp_test

import (
	"context"
	"io"
	"log/slog"
	"net"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/channel/smpp"
	"tubhand/internal/channel/smpp/pdu"
	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/memory"
)

const (
	shopLine = "15415550100"
	owner    = "15415550142"
)

// center is a small message center: the far end of one connection. It answers
// enquire_link and unbind by itself unless it is deaf; the rest comes to in.
type center struct {
	t    *testing.T
	conn net.Conn
	deaf atomic.Bool
	in   chan pdu.PDU
	next uint32
}

func newCenter(t *testing.T, conn net.Conn) *center {
	c := &center{t: t, conn: conn, in: make(chan pdu.PDU, 1000)}
	go func() {
		defer close(c.in)
		for {
			p, err := pdu.Read(conn)
			if err != nil {
				return
			}
			if !c.deaf.Load() && (p.ID == pdu.EnquireLink || p.ID == pdu.Unbind) {
				c.send(p.Answer(pdu.OK))
			}
			c.in <- p
		}
	}()
	return c
}

// send writes a unit; a connection that is gone takes none.
func (c *center) send(p pdu.PDU) {
	raw, err := p.Bytes()
	if err == nil {
		_, _ = c.conn.Write(raw)
	}
}

// raw writes any octets.
func (c *center) raw(octets ...byte) { _, _ = c.conn.Write(octets) }

// get is the next unit that is there once all is still; it fails where none is.
func (c *center) get(id pdu.ID) pdu.PDU {
	c.t.Helper()
	p, ok := c.look()
	require.True(c.t, ok, "no %s came", id)
	require.Equal(c.t, id.String(), p.ID.String())
	return p
}

func (c *center) look() (p pdu.PDU, ok bool) {
	synctest.Wait()
	select {
	case p, ok = <-c.in:
	default:
	}
	return p, ok
}

func (c *center) none() {
	c.t.Helper()
	p, ok := c.look()
	require.False(c.t, ok, "%s came", p.ID)
}

// closed tells that the link has gone away.
func (c *center) closed() {
	c.t.Helper()
	for range 3 {
		synctest.Wait()
		for len(c.in) > 0 {
			<-c.in
		}
	}
	select {
	case _, open := <-c.in:
		require.False(c.t, open)
	default:
		c.t.Fatal("the connection is still open")
	}
}

// accept answers the bind.
func (c *center) accept() *center {
	c.t.Helper()
	bind := c.get(pdu.BindTransceiver)
	c.send(pdu.PDU{ID: pdu.BindTransceiver.Response(), Sequence: bind.Sequence,
		Body: pdu.BindResp{SystemID: "center", TLVs: pdu.TLVs{pdu.Octet(pdu.TagVersion, pdu.Version34)}}})
	synctest.Wait()
	return c
}

// bring sends a deliver_sm and gives its sequence number.
func (c *center) bring(m pdu.Message) uint32 {
	c.next++
	if m.Source.Number == "" {
		m.Source = pdu.Address{TON: pdu.TONInternational, NPI: pdu.NPIISDN, Number: owner}
	}
	m.Destination = pdu.Address{TON: pdu.TONInternational, NPI: pdu.NPIISDN, Number: shopLine}
	c.send(pdu.PDU{ID: pdu.DeliverSM, Sequence: c.next, Body: m})
	return c.next
}

// brought sends a deliver_sm and gives the status that it is answered with.
func (c *center) brought(m pdu.Message) pdu.Status {
	c.t.Helper()
	sequence := c.bring(m)
	answer := c.get(pdu.DeliverSM.Response())
	require.Equal(c.t, sequence, answer.Sequence)
	return answer.Status
}

// take answers a submit with an id.
func (c *center) take(p pdu.PDU, id string) {
	c.send(pdu.PDU{ID: pdu.SubmitSM.Response(), Sequence: p.Sequence, Body: pdu.MessageResp{MessageID: id}})
}

// rig is a link with its surroundings, on a clock that runs when all is still.
type rig struct {
	t       *testing.T
	link    *smpp.Link
	config  smpp.Config
	centers chan *center // each connection
	store   *memory.Store

	mu      sync.Mutex
	texts   []smpp.Text
	refuse  error
	hold    chan struct{} // texts wait for it, where it is there
	reports []string
	fail    error
	events  map[string]int
}

// play runs a link in a bubble of its own time, with no connection bound yet.
func play(t *testing.T, settings smpp.Settings, do func(*testing.T, *rig)) {
	synctest.Test(t, func(t *testing.T) {
		r := &rig{t: t, centers: make(chan *center, 100), store: memory.New(), events: map[string]int{}}
		settings.Gateway, settings.SystemID, settings.Password = "link", "tub", "secret08"
		r.config = smpp.Config{Settings: settings, Shops: []string{"fernhollow"}, Texts: r, Reports: r, Documents: r.store,
			Clock: clock.System(), Log: slog.New(slog.NewTextHandler(io.Discard, nil)), Random: func() float64 { return 0 },
			Urgent: func(text string) bool { return strings.Contains(text, "burning") },
			Dial: func(context.Context) (net.Conn, error) {
				here, there := net.Pipe()
				r.centers <- newCenter(t, there)
				return here, nil
			},
			Observe: func(what string) { r.mu.Lock(); r.events[what]++; r.mu.Unlock() },
		}
		r.link = smpp.New(r.config)
		defer close(r.centers)
		defer run(r.link)()
		do(t, r)
	})
}

// run runs a link until the function that it returns is called.
func run(link *smpp.Link) func() {
	ctx, cancel := context.WithCancel(context.Background())
	still := make(chan struct{})
	go func() {
		link.Run(ctx)
		close(still)
	}()
	return func() {
		cancel()
		<-still
	}
}

// bound waits for the next connection and binds it.
func (r *rig) bound() *center { return (<-r.centers).accept() }

func (r *rig) Take(ctx context.Context, gateway string, t smpp.Text) error {
	r.mu.Lock()
	hold, refuse := r.hold, r.refuse
	r.mu.Unlock()
	if hold != nil {
		<-hold
	}
	if refuse != nil {
		return refuse
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	for _, old := range r.texts { // as the store drops what has a known mark
		if old.ID == t.ID {
			return nil
		}
	}
	r.texts = append(r.texts, t)
	return nil
}

func (r *rig) Shop(_, to string) (string, bool) { return "fernhollow", to == "+"+shopLine }

func (r *rig) Delivered(_ context.Context, shop, line, state string) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.fail != nil {
		return r.fail
	}
	r.reports = append(r.reports, line+" "+state)
	return nil
}

// said are the texts taken so far.
func (r *rig) said() (bodies []string) {
	r.mu.Lock()
	defer r.mu.Unlock()
	for _, t := range r.texts {
		bodies = append(bodies, t.Body)
	}
	return bodies
}

func (r *rig) reported() []string {
	r.mu.Lock()
	defer r.mu.Unlock()
	return append([]string(nil), r.reports...)
}

func (r *rig) set(change func()) {
	r.mu.Lock()
	defer r.mu.Unlock()
	change()
}

// send makes an attempt with ten seconds of time, as dispatch does.
func (r *rig) send(id, text string) <-chan store.Result {
	done := make(chan store.Result, 1)
	go func() {
		ctx, end := context.WithTimeout(context.Background(), 10*time.Second)
		defer end()
		done <- r.link.Send(ctx, "fernhollow", conversation.Line{ID: id, Text: text, From: "+" + shopLine, To: "+" + owner})
	}()
	return done
}

func submitted(t *testing.T, p pdu.PDU) pdu.Message {
	t.Helper()
	m, ok := p.Body.(pdu.Message)
	require.True(t, ok)
	return m
}

// sleep lets the bubble's time run.
func sleep(d time.Duration) { <-time.After(d) }
