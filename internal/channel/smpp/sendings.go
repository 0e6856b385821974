package smpp

import (
	"sync"

	"tubhand/internal/channel/smpp/pdu"
	"tubhand/internal/conversation"
)

// The bounds of what is remembered of messages on their way. What is forgotten is sent
// anew as a whole, at worst twice.
const (
	mostSendings   = 4096
	mostRecipients = 4096
	lastReferences = 4 // of one recipient
)

// The states of a part.
const (
	waiting  = iota // to be submitted, for the first time or again
	flying          // submitted, not answered
	accepted        // the message center has it
	refused         // for good, or for now: see status
	doubtful        // submitted, and the answer got lost
)

// part is one submit of a message.
type part struct {
	message pdu.Message
	state   int
	status  pdu.Status
	id      string // the message center's
}

// sending is a message on its way: what has been accepted is not sent again.
type sending struct {
	shop, line, to string

	mu      sync.Mutex
	parts   []*part
	changed chan struct{} // closed at the next change
}

// set notes what became of a part.
func (s *sending) set(p *part, state int, status pdu.Status, id string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if p.state == accepted {
		return // a receipt has told so, whatever the answer was
	}
	p.state, p.status = state, status
	if id != "" {
		p.id = id
	}
	close(s.changed)
	s.changed = make(chan struct{})
}

// begin marks the next part to submit as flying and gives it; nil when there is none.
func (s *sending) begin() *part {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, p := range s.parts {
		if p.state == waiting {
			p.state = flying
			return p
		}
	}
	return nil
}

// again makes parts in these states wait for another submit.
func (s *sending) again(states ...int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, p := range s.parts {
		for _, state := range states {
			if p.state == state {
				p.state = waiting
			}
		}
	}
}

// look counts the parts in each state, gives the worst refusal, and what tells the next change.
func (s *sending) look() (count [5]int, worst pdu.Status, changed <-chan struct{}) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, p := range s.parts {
		count[p.state]++
		if p.state == refused && (worst == pdu.OK || forGood(p.status)) {
			worst = p.status
		}
	}
	return count, worst, s.changed
}

// sendings remembers messages on their way, and the last references of recipients.
type sendings struct {
	mu         sync.Mutex
	byLine     map[string]*sending
	order      []string // oldest first; may name some that are gone
	references map[string][]uint16
}

func newSendings() *sendings {
	return &sendings{byLine: map[string]*sending{}, references: map[string][]uint16{}}
}

// of gives the message's sending, made by shape where there is none yet.
func (ss *sendings) of(shop string, line conversation.Line, wide bool,
	shape func(conversation.Line, uint16) ([]pdu.Message, error)) (*sending, error) {
	ss.mu.Lock()
	defer ss.mu.Unlock()
	key := shop + "/" + line.ID
	if s, ok := ss.byLine[key]; ok {
		return s, nil
	}
	messages, err := shape(line, ss.reference(line, wide))
	if err != nil {
		return nil, err
	}
	s := &sending{shop: shop, line: line.ID, to: line.To, changed: make(chan struct{})}
	for _, m := range messages {
		s.parts = append(s.parts, &part{message: m})
	}
	ss.byLine[key] = s
	ss.order = append(ss.order, key)
	for len(ss.order) > mostSendings {
		delete(ss.byLine, ss.order[0])
		ss.order = ss.order[1:]
	}
	return s, nil
}

// reference is what joins the parts of a message: drawn from its id, so that it is the
// same after a crash, but none of those that the recipient's phone saw last.
func (ss *sendings) reference(line conversation.Line, wide bool) uint16 {
	mask := uint16(0xFF)
	if wide {
		mask = 0xFFFF
	}
	if len(ss.references) >= mostRecipients {
		clear(ss.references)
	}
	last := ss.references[line.To]
	n := userReference(line.ID, -1) & mask
	for contains(last, n) {
		n = (n + 1) & mask
	}
	last = append(last, n)
	ss.references[line.To] = last[max(0, len(last)-lastReferences):]
	return n
}

func contains(all []uint16, n uint16) bool {
	for _, one := range all {
		if one == n {
			return true
		}
	}
	return false
}

// done forgets a message that needs no further attempt.
func (ss *sendings) done(s *sending) {
	ss.mu.Lock()
	defer ss.mu.Unlock()
	delete(ss.byLine, s.shop+"/"+s.line)
}

// vouched notes that a receipt speaks of a part whose answer got lost: the message center
// has it. It tells which part of which message that was.
func (ss *sendings) vouched(to string, reference uint16, id string) (s *sending, number int) {
	ss.mu.Lock()
	defer ss.mu.Unlock()
	for _, s := range ss.byLine {
		if s.to != to {
			continue
		}
		for i, p := range s.parts {
			if userReference(s.line, i) == reference && s.inDoubt(p) {
				s.set(p, accepted, pdu.OK, id)
				return s, i + 1
			}
		}
	}
	return nil, 0
}

func (s *sending) inDoubt(p *part) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return p.state == doubtful || p.state == waiting || p.state == flying
}
