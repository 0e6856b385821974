package smpp_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/channel/smpp"
	"tubhand/internal/channel/smpp/pdu"
	"tubhand/internal/store"
)

// storm is a message center on a bad day: it throttles, fails, is slow, answers out of
// order, and drops the connection before and after it has taken something.
type storm struct {
	chance  *rand.Rand
	mu      sync.Mutex
	current *center
	waits   map[uint32]chan pdu.Status // texts brought and not answered
	next    uint32
	taken   map[string]int // parts accepted, by their words
	lost    int            // of them, those whose answer went missing
}

func (s *storm) roll(n int) int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.chance.IntN(n)
}

// serve handles one connection after the other.
func (s *storm) serve(centers <-chan *center) {
	for c := range centers {
		for p := range c.in {
			switch p.ID {
			case pdu.BindTransceiver:
				if s.roll(4) == 0 {
					c.send(p.Answer(pdu.SystemError))
					continue
				}
				c.send(p.Answer(pdu.OK))
				s.mu.Lock()
				s.current = c
				s.mu.Unlock()
			case pdu.SubmitSM:
				go s.submit(c, p)
			case pdu.DeliverSM.Response():
				s.mu.Lock()
				if wait := s.waits[p.Sequence]; wait != nil {
					wait <- p.Status
				}
				s.mu.Unlock()
			}
		}
	}
}

func (s *storm) submit(c *center, p pdu.PDU) {
	<-time.After(time.Duration(s.roll(3000)) * time.Millisecond)
	switch s.roll(12) {
	case 0, 1:
		c.send(p.Answer(pdu.Throttled))
		return
	case 2:
		c.send(p.Answer(pdu.SystemError))
		return
	case 3:
		_ = c.conn.Close()
		return
	}
	s.mu.Lock()
	s.taken[string(p.Body.(pdu.Message).Short[6:])]++
	s.next++
	id := fmt.Sprintf("%X", s.next)
	s.mu.Unlock()
	if s.roll(12) == 0 {
		s.mu.Lock()
		s.lost++
		s.mu.Unlock()
		_ = c.conn.Close()
		return
	}
	c.take(p, id)
}

// bring delivers one unit until it is acknowledged.
func (s *storm) bring(m pdu.Message) {
	for {
		s.mu.Lock()
		c := s.current
		s.next++
		sequence, answer := s.next, make(chan pdu.Status, 1)
		s.waits[sequence] = answer
		s.mu.Unlock()
		if c != nil {
			c.send(pdu.PDU{ID: pdu.DeliverSM, Sequence: sequence, Body: m})
			if s.roll(8) == 0 {
				_ = c.conn.Close()
			}
			select {
			case status := <-answer:
				if status == pdu.OK {
					return
				}
			case <-time.After(15 * time.Second):
			}
		}
		<-time.After(time.Duration(1+s.roll(5)) * time.Second)
	}
}

// TestNothingIsLostInAStorm: every text is taken once, every message goes out, and no part
// of one more often than answers got lost.
func TestNothingIsLostInAStorm(t *testing.T) {
	for seed := range uint64(12) {
		play(t, smpp.Settings{PerSecond: 50}, func(t *testing.T, r *rig) {
			s := &storm{chance: rand.New(rand.NewPCG(seed, 7)), waits: map[uint32]chan pdu.Status{}, taken: map[string]int{}}
			go s.serve(r.centers)
			var all sync.WaitGroup
			var want, parts []string
			for n := range 12 {
				a, b := fmt.Sprintf("message %d ", n), strings.Repeat("x", 160)
				parts = append(parts, (a + b)[:153], (a + b)[153:]+fmt.Sprint("end ", n))
				all.Go(func() {
					for (<-r.send(fmt.Sprint("a.", n), a+b+fmt.Sprint("end ", n))).Kind != store.Sent {
						<-time.After(4 * time.Second)
					}
				})
			}
			for sender := range 3 {
				from := pdu.Address{TON: 1, NPI: 1, Number: fmt.Sprint("1541555014", sender)}
				var units []pdu.Message
				for n := range 8 {
					text := fmt.Sprintf("text %d of %d", n, sender)
					want = append(want, text)
					if n%2 == 0 {
						units = append(units, pdu.Message{Source: from, Short: []byte(text)})
						continue
					}
					for i, half := range []string{text[:6], text[6:]} {
						m := piece(uint16(n), byte(i+1), 2, half)
						m.Source = from
						units = append(units, m)
					}
				}
				all.Go(func() {
					for _, m := range units {
						m.Destination = pdu.Address{TON: 1, NPI: 1, Number: shopLine}
						s.bring(m)
					}
				})
			}
			all.Wait()
			require.ElementsMatch(t, want, r.said())
			again := 0
			for _, part := range parts {
				require.GreaterOrEqual(t, s.taken[part], 1, part)
				again += s.taken[part] - 1
			}
			require.Len(t, s.taken, len(parts))
			require.LessOrEqual(t, again, s.lost+r.count("doubtful")+1, "sent again only where the answer was not known")
		})
	}
}
