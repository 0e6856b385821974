// Package smpp is the channel of text messages that come and go over a link to a message
// center by SMPP 3.4: one transceiver for each gateway of kind smpp. It is bound, kept
// alive and bound anew; owners' texts come in on it and messages go out on it, with their
// delivery receipts.
//
// A text is acknowledged when its turn is durable, and the part of a longer text when it
// is kept in the store: a message center that hears nothing, or ESME_RX_T_APPN, sends the
// same again. Going out is at least once: SMPP has no idempotency key, so a message whose
// answer was lost with the link is sent again, with the same reference of its parts and
// the same user_message_reference, and a phone may show it twice.
package smpp

import (
	"context"
	"crypto/tls"
	"errors"
	"log/slog"
	"net"
	"time"

	"tubhand/internal/clock"
	"tubhand/internal/store"
)

// Long says how a text that needs more than one part is sent. Which works is up to the
// message center.
type Long string

// The ways of sending long texts.
const (
	UDH     Long = "udh"     // a user data header with an 8-bit reference; the most common
	UDH16   Long = "udh16"   // the same with a 16-bit reference, which leaves a septet less a part
	SAR     Long = "sar"     // the parameters sar_msg_ref_num, sar_total_segments, sar_segment_seqnum
	Payload Long = "payload" // the whole text in message_payload; the message center cuts it
)

// Settings describe one message center.
type Settings struct {
	Gateway    string // the gateway's name
	Address    string // host:port
	SystemID   string
	Password   string
	SystemType string
	TLS        *tls.Config // nil: none
	Alphabet   Alphabet    // what data_coding 0 is; "" is GSM7
	Long       Long        // "" is UDH
	PerSecond  float64     // submits a second, at most; 0 is 10
	Window     int         // submits without an answer at a time; 0 is 10
	Validity   time.Duration
	Silent     bool // ask for no delivery receipts
}

// Text is an owner's text as it came in. The numbers are as the message center wrote
// them, those of type international with a +.
type Text struct {
	From, To, Body string
	ID             string // the same when the same text comes again
}

// The reasons for which Texts turns a text away; compare with errors.Is. Any other error
// means: the same again, later.
var (
	ErrNoLine   = errors.New("no shop has that line here")
	ErrNoSender = errors.New("nobody can be answered at that number")
)

// Texts takes owners' texts, and returns nil when one is durable or was before.
type Texts interface {
	Take(ctx context.Context, gateway string, t Text) error
	// Shop finds whose line a number is.
	Shop(gateway, to string) (shop string, ok bool)
}

// Reports takes how a message fared: sent, delivered or failed. An error that wraps
// store.ErrNotFound says that there is no such line.
type Reports interface {
	Delivered(ctx context.Context, shop, line, state string) error
}

// Config is what a Link works with. Settings, Shops, Texts, Reports, Documents, Clock, Log,
// Random and Urgent must be given.
type Config struct {
	Settings  Settings
	Shops     []string // keys of the shops that the gateway carries for
	Texts     Texts
	Reports   Reports
	Documents store.Documents // keeps parts of texts, and which message a receipt is about
	Clock     clock.Clock
	Log       *slog.Logger
	Random    func() float64                              // in [0,1): spreads attempts to connect
	Urgent    func(text string) bool                      // is this an emergency? Its missing parts are hardly waited for
	Dial      func(ctx context.Context) (net.Conn, error) // nil: TCP to Address, and TLS where given
	Observe   func(what string)                           // counts: bound, lost, text, part, receipt, refused, ...; may be nil
}

// The limits of a link. Common practice, no source, but for the last.
const (
	dialLimit    = 10 * time.Second
	answerLimit  = 10 * time.Second // for bind, enquire_link, unbind and writing
	submitLimit  = 30 * time.Second // for submit_sm; then its outcome is not known
	quiet        = 30 * time.Second // without a word: the peer is asked whether it is there
	firstRest    = time.Second      // before the second attempt to bind
	longestRest  = time.Minute
	refusedRest  = 5 * time.Minute // after wrong credentials: asking again mends nothing
	firstPause   = time.Second     // after the message center says that it is too much
	longestPause = 30 * time.Second
	patience     = 10 * time.Second // for a turn; ours
)

// Link is one transceiver. It is a sender for dispatch, safe for concurrent use.
type Link struct {
	config   Config
	gate     *gate
	window   chan struct{}
	sendings *sendings
	again    *again
	early    *early
	sweep    chan struct{} // a part was kept
	joining  stripes

	state *state
}

// New makes a link that is not connected before Run.
func New(c Config) *Link {
	s := &c.Settings
	if s.Alphabet == "" {
		s.Alphabet = GSM7
	}
	if s.Long == "" {
		s.Long = UDH
	}
	if s.PerSecond <= 0 {
		s.PerSecond = 10
	}
	if s.Window <= 0 {
		s.Window = 10
	}
	if c.Observe == nil {
		c.Observe = func(string) {}
	}
	l := &Link{config: c, window: make(chan struct{}, s.Window), sendings: newSendings(), again: newAgain(),
		early: newEarly(), sweep: make(chan struct{}, 1), state: newState()}
	l.gate = newGate(c.Clock, s.PerSecond)
	if c.Dial == nil {
		l.config.Dial = l.dial
	}
	return l
}

// Bound tells whether the link is up.
func (l *Link) Bound() bool { return l.state.current() != nil }

func (l *Link) dial(ctx context.Context) (net.Conn, error) {
	ctx, done := context.WithTimeout(ctx, dialLimit)
	defer done()
	if l.config.Settings.TLS != nil {
		return (&tls.Dialer{Config: l.config.Settings.TLS}).DialContext(ctx, "tcp", l.config.Settings.Address)
	}
	return (&net.Dialer{}).DialContext(ctx, "tcp", l.config.Settings.Address)
}
