package smpp

import (
	"context"
	"time"

	"tubhand/internal/channel/smpp/pdu"
	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

// How long an attempt waits for a link that is down, and how long a message whose answer
// got lost rests: a receipt that knows its user_message_reference may yet vouch for it.
const (
	bindWait  = 3 * time.Second
	doubtRest = 15 * time.Second
)

// Send tries once to hand a shop's line over to the message center, all parts of it. What
// was accepted by an earlier attempt is not submitted again, and an answer that comes when
// the attempt is over still counts. Throttling is waited for as long as ctx lets it.
func (l *Link) Send(ctx context.Context, shop string, line conversation.Line) store.Result {
	s, err := l.sendings.of(shop, line, l.config.Settings.Long == UDH16, l.shape)
	if err != nil {
		return store.Result{Kind: store.Failed, Why: err.Error()}
	}
	s.again(doubtful, refused)
	result := l.submitAll(ctx, s)
	if result.Kind != store.Retry {
		l.sendings.done(s)
	}
	return result
}

func (l *Link) submitAll(ctx context.Context, s *sending) store.Result {
	for {
		if no := l.submitWaiting(ctx, s); no != nil {
			return *no
		}
		count, worst, changed := s.look()
		switch {
		case count[accepted] == len(s.parts):
			return store.Result{Kind: store.Sent}
		case count[flying] > 0:
			select {
			case <-changed:
			case <-ctx.Done():
				return l.later("no answer from the message center", doubtRest)
			}
		case count[doubtful] > 0:
			return l.later("the answer of the message center got lost", doubtRest)
		case forGood(worst):
			return store.Result{Kind: store.Failed, Why: "the message center answered " + worst.String()}
		case worst == pdu.Throttled || worst == pdu.QueueFull:
			s.again(refused) // the gate keeps it back
		default:
			return l.later("the message center answered "+worst.String(), 0)
		}
	}
}

// submitWaiting submits the parts that wait, in their order; a result when it cannot.
func (l *Link) submitWaiting(ctx context.Context, s *sending) *store.Result {
	for {
		p := s.begin()
		if p == nil {
			return nil
		}
		session, why := l.turnTo(ctx)
		if session == nil {
			s.set(p, waiting, pdu.OK, "")
			no := l.later(why, 0)
			if until := l.gate.paused(); !until.IsZero() {
				no.Next = until
			}
			return &no
		}
		go l.fly(session, s, p)
	}
}

// turnTo waits for a bound session, a place in the window and one at the gate, in the
// order that holds back nobody else while waiting.
func (l *Link) turnTo(ctx context.Context) (*session, string) {
	patient, done := context.WithTimeout(ctx, bindWait)
	defer done()
	if l.state.wait(patient) == nil {
		return nil, "no link to the message center"
	}
	select {
	case l.window <- struct{}{}:
	case <-ctx.Done():
		return nil, "the message center is slow to answer"
	}
	if l.gate.pass(ctx) != nil {
		<-l.window
		return nil, "the message center asks for fewer messages"
	}
	bound := l.state.current()
	if bound == nil {
		<-l.window
		return nil, "no link to the message center"
	}
	return bound, ""
}

// fly submits one part and notes its answer, whenever that comes. It holds a place in
// the window, and no attempt's end stops it.
func (l *Link) fly(bound *session, s *sending, p *part) {
	defer func() { <-l.window }()
	sequence, answer, err := bound.question(pdu.SubmitSM, p.message)
	if err != nil {
		s.set(p, doubtful, pdu.OK, "")
		return
	}
	defer bound.forget(sequence)
	late := time.NewTimer(submitLimit)
	defer late.Stop()
	select {
	case got := <-answer:
		l.landed(s, p, got)
		return
	case <-bound.gone:
	case <-late.C:
	}
	select {
	case got := <-answer: // just before the end
		l.landed(s, p, got)
	default:
		l.config.Observe("doubtful")
		s.set(p, doubtful, pdu.OK, "")
	}
}

// landed notes an answer. The message center's id is kept before the part counts as
// accepted, so that its receipt finds the line; where that fails the message has gone
// out all the same, and only its receipt will not be known.
func (l *Link) landed(s *sending, p *part, answer pdu.PDU) {
	body, _ := answer.Body.(pdu.MessageResp)
	switch {
	case answer.Status == pdu.OK:
		l.gate.taken()
		l.config.Observe("submitted")
		l.keepID(s, p, body.MessageID)
		s.set(p, accepted, pdu.OK, body.MessageID)
	case answer.Status == pdu.Throttled || answer.Status == pdu.QueueFull:
		l.config.Observe("throttled")
		l.gate.throttled()
		s.set(p, refused, answer.Status, "")
	default:
		l.config.Observe("rejected")
		s.set(p, refused, answer.Status, "")
	}
}

// later is the result of an attempt that is to be made again.
func (l *Link) later(why string, rest time.Duration) store.Result {
	r := store.Result{Kind: store.Retry, Why: why}
	if rest > 0 {
		r.Next = l.config.Clock.Now().Add(rest)
	}
	return r
}

// forGood tells a refusal that trying again would not mend, section 5.1.3. All others,
// a message center's own among them, are tried again: attempts are bounded, and at their
// end a person is told.
func forGood(s pdu.Status) bool {
	switch s {
	case pdu.InvalidLength, pdu.InvalidCommandLength, pdu.InvalidCommand, pdu.InvalidSource, pdu.InvalidDestination,
		pdu.InvalidESMClass, pdu.InvalidOptional:
		return true
	case 0x06, 0x07, // priority, registered_delivery
		0x15,                   // service_type
		0x33, 0x34, 0x40, 0x42, // number of destinations, list name, destination flag, submit with replace
		0x48, 0x49, 0x50, 0x51, // types and plans of the addresses
		0x61, 0x62, // schedule, validity
		0xC1, 0xC2, 0xC3, 0xC4: // optional parameters
		return true
	}
	return false
}
