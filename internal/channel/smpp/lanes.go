package smpp

import (
	"context"
	"fmt"
	"hash/fnv"
	"sync"

	"tubhand/internal/channel/smpp/pdu"
)

// How many texts are handled at a time, and how many wait for each. Texts of one sender
// are in one lane and keep their order.
const (
	laneCount = 16
	laneRoom  = 32
)

// lanes handle what comes in on one session.
type lanes struct {
	session *session

	mu     sync.Mutex
	closed bool
	lane   [laneCount]chan pdu.PDU
	busy   sync.WaitGroup
}

func newLanes(s *session) *lanes {
	ls := &lanes{session: s}
	for i := range ls.lane {
		ls.lane[i] = make(chan pdu.PDU, laneRoom)
		ls.busy.Go(func() { ls.run(ls.lane[i]) })
	}
	return ls
}

// put queues a deliver_sm; false when its lane is full or the session is ending.
func (ls *lanes) put(p pdu.PDU) bool {
	m := p.Body.(pdu.Message) // the codec gives deliver_sm no other
	h := fnv.New32a()
	_, _ = h.Write([]byte(m.Source.Number))
	lane := ls.lane[h.Sum32()%laneCount]
	ls.mu.Lock()
	defer ls.mu.Unlock()
	if ls.closed {
		return false
	}
	select {
	case lane <- p:
		return true
	default:
		return false
	}
}

// close takes no more, and waits until what waits is handled, or ctx ends.
func (ls *lanes) close(ctx context.Context) {
	ls.mu.Lock()
	if !ls.closed {
		ls.closed = true
		for _, lane := range ls.lane {
			close(lane)
		}
	}
	ls.mu.Unlock()
	still := make(chan struct{})
	go func() {
		ls.busy.Wait()
		close(still)
	}()
	select {
	case <-still:
	case <-ctx.Done():
	}
}

// run handles one lane. What still waits when the session is gone is left alone: it was
// not acknowledged, and will come again.
func (ls *lanes) run(lane <-chan pdu.PDU) {
	for p := range lane {
		select {
		case <-ls.session.gone:
			continue
		default:
		}
		ls.one(p)
	}
}

// one handles one deliver_sm. A panic costs its answer, not the link.
func (ls *lanes) one(p pdu.PDU) {
	s := ls.session
	status := pdu.TryAgain
	defer func() {
		if broke := recover(); broke != nil {
			s.link.config.Log.Error("handling a text panicked", "gateway", s.link.config.Settings.Gateway, "panic", fmt.Sprint(broke))
		}
		if s.write(p.Answer(status)) == nil && status == pdu.OK {
			s.link.answered(s, p.Body.(pdu.Message))
		}
	}()
	// A link that breaks must not undo a turn half-way: the text would only come again.
	ctx, done := context.WithTimeout(context.Background(), patience)
	defer done()
	status = s.link.deliver(ctx, s, p.Body.(pdu.Message))
}
