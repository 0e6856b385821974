package rehearse

import (
	"time"

	"tubhand/internal/conversation"
	"tubhand/internal/smstext"
)

// Event is one thing that happened, as `tubhand rehearse --json` prints it.
type Event struct {
	T        string  `json:"t"` // RFC 3339
	Kind     string  `json:"kind"`
	To       string  `json:"to,omitempty"`
	Text     string  `json:"text,omitempty"`
	Segments int     `json:"segments,omitempty"`
	Encoding string  `json:"encoding,omitempty"`
	Flow     string  `json:"flow,omitempty"`
	State    string  `json:"state,omitempty"`
	Cause    string  `json:"cause,omitempty"`
	Severity string  `json:"severity,omitempty"`
	Chemical string  `json:"chemical,omitempty"`
	Grams    float64 `json:"grams,omitempty"`
	Measure  string  `json:"measure,omitempty"`
	Due      string  `json:"due,omitempty"`

	By   string    `json:"-"` // staff name
	Page bool      `json:"-"` // goes to that member of staff
	At   time.Time `json:"-"`
}

// The kinds of events.
const (
	KindIn        = "in"
	KindOut       = "out"
	KindReminder  = "reminder_set"
	KindFired     = "reminder_fired"
	KindHandover  = "handover"
	KindDose      = "dose"
	KindReading   = "reading"
	KindState     = "state"
	KindNote      = "note"
	timeFormat    = time.RFC3339
	flushChemical = "flush_product"
)

// events tells a turn's effects in the order in which a reader wants them.
func (p *Player) events(fx conversation.Effects, now time.Time) []Event {
	var out []Event
	add := func(e Event) {
		e.At, e.T = now, now.Format(timeFormat)
		out = append(out, e)
	}
	for _, l := range fx.Lines {
		if l.Direction == conversation.In {
			add(Event{Kind: KindIn, Text: l.Text})
		}
	}
	for _, l := range fx.Log {
		p.logged(l, add)
	}
	for _, h := range fx.Handovers {
		if h.Closed.IsZero() && h.By == "" {
			add(Event{Kind: KindHandover, Cause: h.Cause, Severity: h.Severity, Text: h.Facts})
		}
	}
	for _, l := range fx.Lines {
		p.line(l, add)
	}
	for _, r := range fx.Remind {
		add(Event{Kind: KindReminder, Text: r.Name, Due: r.Due.In(now.Location()).Format(timeFormat)})
	}
	return out
}

func (p *Player) logged(l conversation.LogEntry, add func(Event)) {
	switch l.Kind {
	case "state":
		add(Event{Kind: KindState, Flow: l.Text, State: l.Name})
	case "reading":
		add(Event{Kind: KindReading, Text: l.Text})
	case "volume":
		add(Event{Kind: KindReading, Text: "volume " + l.Text})
	case "advised", "added":
		chemical := l.Dose.Chemical
		if chemical == "" {
			chemical = flushChemical
		}
		add(Event{Kind: KindDose, State: l.Kind, Chemical: chemical, Grams: l.Dose.Grams, Measure: l.Dose.Measure, Text: l.Dose.Product})
	}
}

func (p *Player) line(l conversation.Line, add func(Event)) {
	switch l.Direction {
	case conversation.Out, conversation.Staff, conversation.Page:
		shape := smstext.Count(l.Text)
		add(Event{Kind: KindOut, To: l.To, Text: l.Text, Segments: shape.Parts, Encoding: string(shape.Encoding), By: p.staffName(l.By), Page: l.Direction == conversation.Page})
	case conversation.Note:
		add(Event{Kind: KindNote, Text: l.Text})
	}
}
