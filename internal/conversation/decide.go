package conversation

import (
	"strconv"
	"time"

	"tubhand/internal/flow"
	"tubhand/internal/smstext"
	"tubhand/internal/understand"
	"tubhand/internal/wording"
)

// Decide handles one event: it gives the next state and the effects to commit with it.
// It changes nothing that it was given. An event that no longer means anything (a
// reminder of a state that was left) gives the same state and no effects.
func (w *World) Decide(c Conversation, ev Event, now time.Time) (Conversation, Effects) {
	t := &turn{w: w, c: c.clone(), ev: ev, now: now, class: ClassReply}
	t.settleOut()
	switch ev.Kind {
	case TextIn:
		t.textIn()
	case ReminderDue:
		t.reminderDue()
	case StaffAct:
		t.byStaff()
	case DeliveryDead:
		t.undelivered()
	case ReminderDead:
		t.reminderDead()
	case UnprovenIn:
		t.unprovenIn()
	}
	t.keepWatch()
	t.tellClosed()
	t.speak()
	t.count(&c)
	return t.c, t.fx
}

// turn is one event being decided: a working copy and what has been gathered so far.
type turn struct {
	w     *World
	c     Conversation
	ev    Event
	now   time.Time
	fx    Effects
	heard understand.Meaning
	says  []string // what will be said, in order
	class Class
	alive bool // something happened that starts the silence clock anew

	code   string // the printed word that a first text began with
	urgent bool   // a danger is answered: nothing comes before that
	opened bool   // a case that is no emergency was opened: the owner is told when someone will be there
}

// id makes an id that is unique in the shop and the same whenever the turn is decided
// again from the same state.
func (t *turn) id() string {
	t.c.Made++
	return t.c.ID + "." + strconv.FormatInt(t.c.Made, 36)
}

// say adds the text under key, in the running flow's words or else the common ones.
func (t *turn) say(key string) { t.sayWith(key, t.words()) }

func (t *turn) sayWith(key string, words *wording.Words) {
	if text, ok := t.w.words.Say(t.language(), t.flowName(), key, words); ok && text != "" {
		t.says = append(t.says, text)
	}
}

// speak turns what was said into messages. Texts that fit into two segments together
// go out as one; an e-mail has room for all of them.
func (t *turn) speak() {
	if len(t.says) == 0 || t.c.OptedOut && t.class != ClassOptOut && t.class != ClassSafety {
		return
	}
	t.introduce()
	message := ""
	for _, text := range t.says {
		if joined := message + " " + text; message != "" && fits(joined) && !t.byMail() {
			message = joined
			continue
		}
		if message != "" && t.byMail() {
			message += "\n\n" + text
			continue
		}
		if message != "" {
			t.send(message)
		}
		message = text
	}
	t.send(message)
}

// fits tells whether a text goes out in two segments of the 7-bit alphabet.
func fits(text string) bool {
	shape := smstext.Count(text)
	return shape.Parts <= 2 && shape.Encoding == smstext.GSM7
}

func (t *turn) send(text string) {
	t.line(Line{Direction: Out, Text: text, Send: true, Class: t.class})
}

// line adds a line to the transcript, filling in what every line has. What is sent to
// nobody in particular goes to the owner.
func (t *turn) line(l Line) {
	l.ID, l.Conversation, l.At = t.id(), t.c.ID, t.now
	if l.Send && l.To == "" {
		l.To, t.c.LastOut = t.c.Owner.Addresses[0], t.now
	}
	if l.Send {
		l.Gateway, l.From = t.carrier(l.To)
	}
	t.fx.Lines = append(t.fx.Lines, l)
}

// note leaves a remark for staff.
func (t *turn) note(text string) { t.line(Line{Direction: Note, Text: text}) }

func (t *turn) language() string {
	if t.c.Owner.Language == "" {
		return t.w.shop.Language
	}
	return t.c.Owner.Language
}

func (t *turn) flowName() string {
	if t.c.Service == nil {
		return wording.Common
	}
	return t.c.Service.Flow
}

// flow gives the running flow and its state; ok is false when nothing runs.
func (t *turn) flow() (*flow.Flow, *flow.State, bool) {
	if t.c.Service == nil {
		return nil, nil, false
	}
	f, ok := t.w.flows.Flow(t.c.Service.Flow)
	if !ok {
		return nil, nil, false
	}
	s, ok := f.State(t.c.Service.State)
	return f, s, ok
}

// physical is the tub's physical state, as the state of the flow says it; "same" is
// looked up in the caller; a trouble without one has the usual tub.
func (t *turn) physical() flow.Tub {
	_, s, ok := t.flow()
	if !ok {
		return flow.Tub{}
	}
	tub := s.Tub
	caller := t.c.Service.Caller
	if caller == nil {
		return tub.Over(usualTub())
	}
	if f, ok := t.w.flows.Flow(caller.Flow); ok {
		if from, ok := f.State(caller.State); ok {
			tub = tub.Over(from.Tub)
		}
	}
	return tub
}
