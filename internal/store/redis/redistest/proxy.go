package redistest

import (
	"errors"
	"net"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// Fault is what a network does to what goes through it.
type Fault int

// The faults of a Proxy.
const (
	Sound   Fault = iota // all passes
	Torn                 // connections are reset, also in the middle of a command, and new ones too
	Deaf                 // commands arrive and are done; their answers never come, and the way back is closed
	Swallow              // nothing passes and nobody is told; what waited arrives late, when it is sound again
)

// Proxy is a network between a store and its server that a test can break and heal.
type Proxy struct {
	Address string // host:port to connect to instead of the server's
	target  string
	listen  net.Listener
	running sync.WaitGroup

	mu      sync.Mutex
	changed chan struct{} // closed at the next change
	fault   Fault
	after   int           // bytes of commands that pass before the fault begins
	delay   time.Duration // of each piece of an answer
	open    map[net.Conn]bool
	closed  bool
}

// StartProxy starts a sound proxy before a server; it ends with the test.
func StartProxy(tb testing.TB, target string) *Proxy {
	tb.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(tb, err)
	p := &Proxy{Address: l.Addr().String(), target: target, listen: l, changed: make(chan struct{}), open: map[net.Conn]bool{}}
	p.running.Go(p.accept)
	tb.Cleanup(p.stop)
	return p
}

// URL is the address as a store takes it.
func (p *Proxy) URL() string { return "redis://" + p.Address }

// Slow delays each piece of an answer from now on.
func (p *Proxy) Slow(by time.Duration) { p.change(func() { p.delay = by }) }

// Break begins a fault when so many more bytes of commands have passed: with a few, in
// the middle of one.
func (p *Proxy) Break(f Fault, after int) { p.change(func() { p.fault, p.after = f, after }) }

// Heal ends the fault. Connections that it closed stay closed; new ones are sound.
func (p *Proxy) Heal() { p.Break(Sound, 0) }

func (p *Proxy) change(how func()) {
	p.mu.Lock()
	defer p.mu.Unlock()
	how()
	if p.fault == Torn && p.after == 0 {
		p.tear()
	}
	close(p.changed)
	p.changed = make(chan struct{})
}

// tear resets all connections.
func (p *Proxy) tear() {
	for c := range p.open {
		if tcp, ok := c.(*net.TCPConn); ok {
			_ = tcp.SetLinger(0) // reset, not an orderly end
		}
		_ = c.Close()
	}
}

func (p *Proxy) stop() {
	p.mu.Lock()
	p.closed = true
	p.fault = Torn
	p.tear()
	close(p.changed)
	p.changed = make(chan struct{})
	p.mu.Unlock()
	_ = p.listen.Close()
	p.running.Wait()
}

// keep notes a connection, or closes it where none may be open.
func (p *Proxy) keep(c net.Conn) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.closed || p.fault == Torn && p.after == 0 {
		_ = c.Close()
		return false
	}
	p.open[c] = true
	return true
}

func (p *Proxy) drop(conns ...net.Conn) {
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, c := range conns {
		delete(p.open, c)
		_ = c.Close()
	}
}

func (p *Proxy) accept() {
	for {
		near, err := p.listen.Accept()
		if errors.Is(err, net.ErrClosed) {
			return
		}
		if err != nil || !p.keep(near) {
			continue
		}
		p.running.Go(func() { p.join(near) })
	}
}

// join carries between two ends until both directions are closed.
func (p *Proxy) join(near net.Conn) {
	far, err := net.Dial("tcp", p.target)
	if err != nil || !p.keep(far) {
		p.drop(near)
		return
	}
	defer p.drop(near, far)
	var both sync.WaitGroup
	both.Go(func() { carry(near, far, p.commands); shut(far) })
	both.Go(func() { carry(far, near, p.answers); shut(near) })
	both.Wait()
}

// shut ends one direction: the other end reads that there is no more.
func shut(c net.Conn) {
	if tcp, ok := c.(*net.TCPConn); ok {
		_ = tcp.CloseWrite()
	}
}

// carry passes what the gate lets through until either end closes or the gate does.
func carry(from, to net.Conn, gate func(n int) (now int, on bool)) {
	buffer := make([]byte, 32<<10)
	for {
		n, err := from.Read(buffer)
		for rest := buffer[:n]; len(rest) > 0; {
			now, on := gate(len(rest))
			if _, err := to.Write(rest[:now]); err != nil || !on {
				return
			}
			rest = rest[now:]
		}
		if err != nil {
			return
		}
	}
}

// commands lets n bytes of commands through, or as many as pass before a fault.
func (p *Proxy) commands(n int) (now int, on bool) {
	for {
		p.mu.Lock()
		fault, changed := p.fault, p.changed
		if fault == Sound {
			p.mu.Unlock()
			return n, true
		}
		if p.after > 0 {
			now = min(n, p.after)
			p.after -= now
			if p.after == 0 && fault == Torn {
				// What has passed is sent on first: half a command is what the server sees.
				go p.change(func() {})
			}
			p.mu.Unlock()
			return now, true
		}
		closed := p.closed
		p.mu.Unlock()
		switch {
		case closed || fault == Torn:
			return 0, false
		case fault == Deaf:
			return n, true
		}
		<-changed
	}
}

// answers lets n bytes of answers through.
func (p *Proxy) answers(n int) (now int, on bool) {
	for {
		p.mu.Lock()
		fault, changed, delay, begun, closed := p.fault, p.changed, p.delay, p.after == 0, p.closed
		p.mu.Unlock()
		switch {
		case closed || begun && (fault == Torn || fault == Deaf):
			return 0, false
		case fault == Swallow && begun:
			<-changed
			continue
		}
		if delay == 0 {
			return n, true
		}
		select {
		case <-time.After(delay):
			return n, true
		case <-changed:
		}
	}
}
