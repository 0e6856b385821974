package smpp

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"net"
	"sync"
	"time"

	"tubhand/internal/channel/smpp/pdu"
)

// The ways a session ends, beside errors of the connection.
var (
	errGarbage  = errors.New("the peer sends what is no SMPP")
	errDeaf     = errors.New("enquire_link found no answer")
	errUnbound  = errors.New("the peer said unbind")
	errGone     = errors.New("the link broke")
	errNoAnswer = errors.New("no answer in time")
)

// mostWrong is how many units in a row may be wrong before the peer is given up.
const mostWrong = 10

// session is one connection, from dialling to its end.
type session struct {
	link    *Link
	conn    net.Conn
	lanes   *lanes
	writing sync.Mutex

	mu      sync.Mutex
	last    uint32
	pending map[uint32]chan pdu.PDU
	highest uint32 // request that was answered
	err     error
	gone    chan struct{} // closed at the end
	heard   time.Time
	ended   time.Time
}

func newSession(l *Link, conn net.Conn) *session {
	s := &session{link: l, conn: conn, pending: map[uint32]chan pdu.PDU{}, gone: make(chan struct{}), heard: l.config.Clock.Now()}
	s.lanes = newLanes(s)
	return s
}

// end closes the connection; the first reason counts.
func (s *session) end(why error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.err != nil {
		return
	}
	s.err = why
	s.ended = s.link.config.Clock.Now()
	close(s.gone)
	_ = s.conn.Close()
}

// endedAt is when the session ended, zero while it lasts, and the highest request that was
// answered: whatever was written before that one has been heard.
func (s *session) endedAt() (ended time.Time, answered uint32) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.ended, s.highest
}

// lastRequest is the last request that was begun.
func (s *session) lastRequest() uint32 {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.last
}

func (s *session) why() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.err
}

// write sends one unit whole, or ends the session: half a unit cannot be followed by another.
func (s *session) write(p pdu.PDU) error {
	raw, err := p.Bytes()
	if err != nil {
		return err
	}
	s.writing.Lock()
	defer s.writing.Unlock()
	if err := s.conn.SetWriteDeadline(s.link.config.Clock.Now().Add(answerLimit)); err == nil {
		_, err = s.conn.Write(raw)
		if err == nil {
			return nil
		}
	}
	s.end(fmt.Errorf("writing %s: %w", p.ID, errGone))
	return errGone
}

// question sends a request; its answer comes to the channel, if it comes.
func (s *session) question(id pdu.ID, body pdu.Body) (sequence uint32, answer <-chan pdu.PDU, err error) {
	s.mu.Lock()
	s.last = s.last%0x7FFFFFFF + 1
	sequence = s.last
	waiting := make(chan pdu.PDU, 1)
	s.pending[sequence] = waiting
	s.mu.Unlock()
	if err := s.write(pdu.PDU{ID: id, Sequence: sequence, Body: body}); err != nil {
		s.forget(sequence)
		return 0, nil, err
	}
	return sequence, waiting, nil
}

func (s *session) forget(sequence uint32) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.pending, sequence)
}

// ask sends a request and waits for its answer.
func (s *session) ask(id pdu.ID, body pdu.Body, limit time.Duration) (pdu.PDU, error) {
	sequence, answer, err := s.question(id, body)
	if err != nil {
		return pdu.PDU{}, err
	}
	defer s.forget(sequence)
	late := time.NewTimer(limit)
	defer late.Stop()
	select {
	case p := <-answer:
		return p, nil
	case <-s.gone:
		select { // it may have come just before the end
		case p := <-answer:
			return p, nil
		default:
			return pdu.PDU{}, errGone
		}
	case <-late.C:
		return pdu.PDU{}, errNoAnswer
	}
}

// listen reads until the session ends.
func (s *session) listen() {
	in := bufio.NewReaderSize(s.conn, 16<<10)
	for wrong := 0; ; {
		p, err := pdu.Read(in)
		s.mu.Lock()
		s.heard = s.link.config.Clock.Now()
		s.mu.Unlock()
		var bad *pdu.Error
		switch {
		case errors.As(err, &bad):
			if wrong++; s.refuse(bad, wrong) {
				return
			}
		case err != nil:
			s.end(fmt.Errorf("%w: %w", errGone, err))
			return
		default:
			wrong = 0
			if s.take(p) {
				return
			}
		}
	}
}

// refuse answers a unit that cannot be read; true when nothing more is read. An answer
// that cannot be read still tells its status. Answers are never answered.
func (s *session) refuse(bad *pdu.Error, wrong int) (over bool) {
	s.link.config.Log.Warn("the message center sent what cannot be read", "gateway", s.link.config.Settings.Gateway, "error", bad)
	s.link.config.Observe("unreadable")
	head := bad.Head
	switch {
	case head.ID.IsResponse() && !bad.Lost:
		s.answered(head)
	case bad.Lost || bad.Answer == pdu.InvalidCommand:
		_ = s.write(pdu.PDU{ID: pdu.GenericNack, Status: bad.Answer, Sequence: head.Sequence})
	default:
		_ = s.write(head.Answer(bad.Answer))
	}
	if bad.Lost || wrong >= mostWrong {
		s.end(errGarbage)
		return true
	}
	return false
}

// take does what a unit asks; true when it was the last.
func (s *session) take(p pdu.PDU) (over bool) {
	switch {
	case p.ID.IsResponse():
		s.answered(p)
	case p.ID == pdu.EnquireLink:
		_ = s.write(p.Answer(pdu.OK))
	case p.ID == pdu.DeliverSM:
		if !s.lanes.put(p) {
			s.link.config.Observe("full")
			_ = s.write(p.Answer(pdu.QueueFull))
		}
	case p.ID == pdu.Unbind:
		_ = s.write(p.Answer(pdu.OK))
		s.end(errUnbound)
		return true
	default: // a bind, or a submit_sm: not to us
		_ = s.write(p.Answer(pdu.WrongBindStatus))
	}
	return false
}

// answered hands an answer to whoever asked. One that nobody waits for any more is dropped.
func (s *session) answered(p pdu.PDU) {
	s.mu.Lock()
	waiting := s.pending[p.Sequence]
	if waiting != nil {
		s.highest = max(s.highest, p.Sequence)
	}
	delete(s.pending, p.Sequence)
	s.mu.Unlock()
	if waiting != nil {
		waiting <- p
	}
}

// bind makes the connection a transceiver.
func (s *session) bind() (pdu.Status, error) {
	c := s.link.config.Settings
	p, err := s.ask(pdu.BindTransceiver, pdu.Bind{SystemID: c.SystemID, Password: c.Password,
		SystemType: c.SystemType, Version: pdu.Version34}, answerLimit)
	return p.Status, err
}

// keepAlive asks a peer that has been quiet whether it is there.
func (s *session) keepAlive() {
	for {
		s.mu.Lock()
		left := s.heard.Add(quiet).Sub(s.link.config.Clock.Now())
		s.mu.Unlock()
		if left > 0 && left <= quiet { // more where the clock was set back
			due := time.NewTimer(left)
			select {
			case <-s.gone:
				due.Stop()
				return
			case <-due.C:
			}
			continue
		}
		if _, err := s.ask(pdu.EnquireLink, pdu.Empty{}, answerLimit); err != nil {
			s.end(errDeaf)
			return
		}
	}
}

// leave ends a session in order: texts in hand come to their end, then unbind.
func (s *session) leave(ctx context.Context) {
	s.lanes.close(ctx)
	_, _ = s.ask(pdu.Unbind, pdu.Empty{}, answerLimit)
	s.end(errUnbound)
}
