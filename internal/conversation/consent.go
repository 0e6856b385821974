package conversation

import (
	"maps"
	"slices"
	"strings"
	"time"

	"tubhand/internal/mailbox"
	"tubhand/internal/safety"
	"tubhand/internal/understand"
)

// Medium is a kind of channel. Who opts out of texts opts out of them at all of their
// numbers, and is still answered by e-mail where they write from there.
type Medium string

// The media.
const (
	ByText Medium = "text"
	ByMail Medium = "mail"
)

// MediumOf is the kind of channel that an address is reached by.
func MediumOf(address string) Medium {
	if mailbox.Is(address) {
		return ByMail
	}
	return ByText
}

// Consent is what an owner has agreed to, taken back and been asked, and how. The record
// is kept with the conversation, leaves with it, and is part of what an owner may see.
type Consent struct {
	Record   []Agreement          `json:"record,omitempty"`   // oldest first; of more than mostAgreements the first and the last stay
	Out      map[Medium]time.Time `json:"out,omitempty"`      // since when nothing may go out by a medium
	Told     time.Time            `json:"told,omitzero"`      // when the owner was told who writes here and how to end it
	Owed     bool                 `json:"owed,omitempty"`     // the first message was an emergency's, or an opt-out's: that is still to be told
	Asking   *Asking              `json:"asking,omitempty"`   // a question of consent that is open
	Later    time.Time            `json:"later,omitzero"`     // when it was asked whether texts months later are welcome; asked once
	Seasonal map[string]Pending   `json:"seasonal,omitempty"` // reminders of months to come, by flow
	Nudges   []time.Time          `json:"nudges,omitempty"`   // those of the last day
}

// Agreement is one thing that an owner agreed to or took back.
type Agreement struct {
	At      time.Time `json:"at"`
	Address string    `json:"address"`
	How     How       `json:"how"`
	For     Purpose   `json:"for"`
	Given   bool      `json:"given"`             // false: taken back or refused
	Wording string    `json:"wording,omitempty"` // what they had been shown, or what they said where nothing was
	By      string    `json:"by,omitempty"`      // staff key
}

// How is how an owner agreed.
type How string

// The ways of agreeing and of taking back.
const (
	WroteFirst  How = "wrote_first"  // texted or mailed the shop, which is a request to be answered
	Keyword     How = "keyword"      // START, STOP, or the same in other words
	PrintedCode How = "printed_code" // a word that is printed with what it leads to
	ByStaff     How = "staff"        // a person of the shop began, on the owner's wish
	Answered    How = "answer"       // said yes or no to a question
)

// Purpose is what an agreement is for.
type Purpose string

// The purposes.
const (
	ForReplies Purpose = "replies_and_service"      // answers, and what a service that was asked for needs: waits, nudges
	ForNight   Purpose = "text_in_quiet_hours"      // the end of a wait, at the time that was named
	ForMonths  Purpose = "reminders_months_later"   // of the next flush
	ForChores  Purpose = "reminders_of_what_is_due" // of the other jobs that come round, a few times a year
)

// mostAgreements bounds the record; who says STOP and START all day keeps the first and
// the latest.
const mostAgreements = 40

// Asking is a question of consent that is open beside what the service asks.
type Asking struct {
	For     Purpose   `json:"for"`
	Wording string    `json:"wording"`
	Timer   string    `json:"timer,omitempty"` // ForNight: the wait that it is about
	Flow    string    `json:"flow,omitempty"`  // what is to be reminded of, or begun in the morning
	State   string    `json:"state,omitempty"`
	At      time.Time `json:"at"`
}

// Silenced tells whether nothing may go out to an address of the owner's, since they have
// opted out of its kind of channel.
func (c *Conversation) Silenced(address string) bool {
	_, out := c.Consent.Out[MediumOf(address)]
	return out || c.OptedOut && len(c.Consent.Out) == 0
}

// OptOut has a conversation begin opted out of an address's kind of channel: the opt-out
// is known from before the conversation. The owner's START lifts it.
func (c *Conversation) OptOut(address string, since time.Time) {
	c.Consent.Out = maps.Clone(c.Consent.Out)
	put(&c.Consent.Out, MediumOf(address), since)
	c.OptedOut = true
}

// Allows tells whether the last word on a purpose was a yes.
func (c *Conversation) Allows(p Purpose) bool {
	for _, a := range slices.Backward(c.Consent.Record) {
		if a.For == p {
			return a.Given
		}
	}
	return false
}

func (c Consent) clone() Consent {
	c.Record = slices.Clone(c.Record)
	c.Out = maps.Clone(c.Out)
	c.Asking = copied(c.Asking)
	c.Seasonal = maps.Clone(c.Seasonal)
	c.Nudges = slices.Clone(c.Nudges)
	return c
}

// settleOut takes the opt-out of the kind of channel that the owner is answered by.
func (t *turn) settleOut() {
	if len(t.c.Owner.Addresses) == 0 {
		return
	}
	here := t.c.Owner.Addresses[0]
	if t.c.OptedOut && len(t.c.Consent.Out) == 0 { // of a record that knew one kind only
		put(&t.c.Consent.Out, MediumOf(here), t.c.LastIn)
	}
	_, t.c.OptedOut = t.c.Consent.Out[MediumOf(here)]
}

// agreed keeps what the owner agreed to or took back.
func (t *turn) agreed(a Agreement) {
	a.At = t.now
	if a.Address == "" && len(t.c.Owner.Addresses) > 0 {
		a.Address = t.c.Owner.Addresses[0]
	}
	a.Wording = shorten(a.Wording, 320)
	record := &t.c.Consent.Record
	if *record = append(*record, a); len(*record) > mostAgreements {
		*record = slices.Delete(*record, 1, 2)
	}
}

// consents notes how an owner who writes came to be answered: the first time by this kind
// of channel.
func (t *turn) consents() {
	if t.c.OptedOut {
		return
	}
	for _, a := range t.c.Consent.Record {
		if a.For == ForReplies && MediumOf(a.Address) == MediumOf(t.ev.From) {
			return
		}
	}
	a := Agreement{How: WroteFirst, For: ForReplies, Given: true, Address: t.ev.From}
	if t.code != "" {
		a.How, a.Wording = PrintedCode, t.code+": "+t.w.shop.Consent.Printed[t.code]
	}
	t.agreed(a)
}

// printedCode takes the shop's printed word off the front of a first text: what follows
// is what the owner wants.
func (t *turn) printedCode(text string) string {
	first, rest, _ := strings.Cut(strings.TrimSpace(text), " ")
	word := strings.ToUpper(bare(first))
	if _, ok := t.w.shop.Consent.Printed[word]; !ok || t.c.Service != nil {
		return text
	}
	t.code = word
	return strings.TrimSpace(rest)
}

// introduce has the first message say who writes, that it is an automated assistant, how
// to get a person and how to end it. An emergency's answer and an opt-out's confirmation
// stand alone; what comes after them says it.
func (t *turn) introduce() {
	consent := &t.c.Consent
	if t.class == ClassSafety || t.class == ClassOptOut {
		consent.Owed = consent.Owed || t.c.LastOut.IsZero()
		return
	}
	if !consent.Owed && !t.c.LastOut.IsZero() || t.c.Hold != nil && t.dangerLately() {
		return
	}
	key := "hello"
	if t.byMail() {
		key = "hello.mail"
	}
	hello, _ := t.w.words.Say(t.language(), t.flowName(), key, t.words())
	consent.Owed, consent.Told = false, t.now
	for i := range consent.Record {
		if a := &consent.Record[i]; a.For == ForReplies && a.Given && a.Wording == "" {
			a.Wording = hello
		}
	}
	if t.urgent {
		t.says = append(t.says, hello) // first what keeps people unharmed
		return
	}
	t.says = append([]string{hello}, t.says...)
}

// stopped takes all agreement back, by the kind of channel that the owner wrote by.
func (t *turn) stopped() {
	here := MediumOf(t.c.Owner.Addresses[0])
	put(&t.c.Consent.Out, here, t.now)
	t.c.OptedOut = true
	t.agreed(Agreement{How: Keyword, For: ForReplies, Wording: t.ev.Text})
	for _, p := range [...]Purpose{ForMonths, ForChores} {
		if t.c.Allows(p) {
			t.agreed(Agreement{How: Keyword, For: p, Wording: t.ev.Text})
		}
	}
	t.dropSeasonal()
	t.c.Consent.Asking, t.c.Calendar.Open, t.c.Calendar.Stock = nil, nil, nil
}

// resumed lifts the opt-out, and no more: reminders months later have to be asked for anew.
func (t *turn) resumed() {
	delete(t.c.Consent.Out, MediumOf(t.c.Owner.Addresses[0]))
	t.c.OptedOut = false
	t.agreed(Agreement{How: Keyword, For: ForReplies, Given: true, Wording: t.ev.Text})
}

// begunByStaff notes that a person of the shop began on the owner's wish.
func (t *turn) begunByStaff(by string) {
	if len(t.c.Consent.Record) == 0 && t.c.LastIn.IsZero() {
		t.agreed(Agreement{How: ByStaff, For: ForReplies, Given: true, By: by})
	}
}

// answerConsent takes a yes or no to an open question of consent. Anything else leaves a
// question about a wait open while the wait runs, and ends one about months to come: it
// is asked once, and silence is a no.
func (t *turn) answerConsent(m understand.Meaning) bool {
	q := t.c.Consent.Asking
	if q == nil {
		return false
	}
	yes := m.Intent == understand.Yes && !courtesy(t.ev.Text)
	if !yes && m.Intent != understand.No {
		if q.For == ForMonths {
			t.c.Consent.Asking = nil
		}
		return false
	}
	answer := map[Purpose]func(Asking, bool) bool{ForNight: t.answerNight, ForMonths: t.answerMonths}[q.For]
	if answer == nil || !answer(*q, yes) {
		return false
	}
	t.c.Consent.Asking = nil
	return true
}

// courtesy tells whether a text is what people say to anything: no agreement rests on it.
func courtesy(text string) bool {
	switch bare(text) {
	case "ok", "okay", "k", "kk", "okey", "ok thanks", "ok gracias", "great", "cool", "perfect", "vale", "bueno":
		return true
	}
	return false
}

// sayAsking says a question of consent, and keeps what was said.
func (t *turn) sayAsking(key string, q Asking, until time.Time) {
	words := t.words()
	words.Until = t.when(until)
	if q.For == ForMonths {
		words.Time = monthsOf(flushEvery(&t.c.Tub))
	}
	q.Wording, _ = t.w.words.Say(t.language(), t.flowName(), key, words)
	q.At = t.now
	t.sayWith(key, words)
	t.c.Consent.Asking = &q
}

// helpWord takes INFO alone for HELP, as text programs in the US have it (CTIA, Messaging
// Principles and Best Practices, 2023; from memory).
func (t *turn) helpWord(m *understand.Meaning) {
	if word := bare(t.ev.Text); (word == "info" || word == "informacion") && m.Intent == understand.Other && m.Severity == safety.NoSeverity {
		t.readAs(m, understand.Help, "", "")
	}
}
