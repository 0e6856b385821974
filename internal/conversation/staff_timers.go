package conversation

import (
	"strings"
	"time"

	"tubhand/internal/flow"
)

// The farthest that staff can move what is pending. Our decisions.
const (
	farthestWait   = 7 * 24 * time.Hour
	farthestSeason = 400 * 24 * time.Hour
)

// Guarded tells whether what is pending under a name watches over somebody: the end of a
// wait, or the look at a silent owner, while the pump may run dry, product is in the water
// or the tub stands low. Such a one is put off or taken away only while a person has the
// conversation; nor is the look at a silent owner ever taken away otherwise.
func Guarded(flows *flow.Set, c *Conversation, name string) bool {
	t := &turn{w: &World{flows: flows}, c: *c}
	return t.guarded(name)
}

// CheckTimer tells in words why staff may not do what they ask for with something pending
// (MoveTimer, DropTimer, FireTimer); "" where they may.
func CheckTimer(flows *flow.Set, c *Conversation, a StaffAction, now time.Time) string {
	t := &turn{w: &World{flows: flows}, c: *c, now: now}
	r, ok := t.pendingByID(a.Reminder)
	if !ok {
		return "it is not pending any more"
	}
	return t.mayChange(a, r)
}

// mayChange tells why not, or "".
func (t *turn) mayChange(a StaffAction, r Reminder) string {
	page := strings.HasPrefix(r.Name, pageReminder)
	switch a.Act {
	case FireTimer:
		if (t.c.Hold != nil || t.c.OptedOut) && !page {
			return "nothing goes out while the service is on hold"
		}
		return ""
	case DropTimer:
		return t.mayPutOff(r, true)
	}
	most := farthestWait
	if strings.HasPrefix(r.Name, seasonal) {
		most = farthestSeason
	}
	switch {
	case a.At.Before(t.now) || a.At.After(t.now.Add(most)):
		return "the time has to lie ahead, and not so far"
	case page || a.At.After(r.Due):
		return t.mayPutOff(r, false)
	}
	return ""
}

func (t *turn) guarded(name string) bool {
	return (name == quiet || strings.HasPrefix(name, "timer:")) && riskOf(t.physical()) != noRisk
}

// pendingByID finds what is pending: its name, and where it is kept.
func (t *turn) pendingByID(id string) (r Reminder, ok bool) {
	if s := t.c.Service; s != nil {
		for _, key := range sortedKeys(s.Timers) {
			if p := s.Timers[key]; p.ID == id && id != "" {
				return Reminder{ID: id, Conversation: t.c.ID, Name: key, Due: p.Due, Service: s.ID, State: s.State}, true
			}
		}
	}
	for _, name := range sortedKeys(t.c.Consent.Seasonal) {
		if p := t.c.Consent.Seasonal[name]; p.ID == id && id != "" {
			return Reminder{ID: id, Conversation: t.c.ID, Name: seasonal + name, Due: p.Due}, true
		}
	}
	for _, p := range t.c.Pages {
		if p.Next.ID == id && id != "" {
			return Reminder{ID: id, Conversation: t.c.ID, Name: pageReminder + p.Handover, Due: p.Next.Due}, true
		}
	}
	return Reminder{}, false
}

// pendingWords names what is pending, for notes.
func pendingWords(name string) string {
	switch {
	case name == quiet:
		return "the look at a silent owner"
	case strings.HasPrefix(name, pageReminder):
		return "the call for the next person"
	case strings.HasPrefix(name, seasonal):
		return "the reminder of " + spaced(strings.TrimPrefix(strings.TrimPrefix(name, seasonal), morningOf))
	}
	return "the wait " + spaced(name[strings.LastIndexByte(name, '/')+1:])
}

// mayPutOff tells in words why something pending may not be put off or taken away; "" where
// it may.
func (t *turn) mayPutOff(r Reminder, away bool) string {
	held := t.c.Hold != nil && t.c.Hold.By != ""
	switch {
	case strings.HasPrefix(r.Name, pageReminder):
		return "calls for staff go on until somebody takes the case"
	case held || strings.HasPrefix(r.Name, seasonal):
		return ""
	case t.guarded(r.Name):
		return "the tub is at a moment that needs watching; take the conversation first"
	case r.Name == quiet && away:
		return "nobody would notice a silent owner; take the conversation first"
	}
	return ""
}

// moveTimer moves something pending to another time.
func (t *turn) moveTimer(a StaffAction) {
	r, ok := t.pendingByID(a.Reminder)
	if !ok {
		t.acted(a, "wanted to move a reminder that is not pending any more")
		return
	}
	due, why := a.At, t.mayChange(a, r)
	if why != "" {
		t.acted(a, "wanted to move %s to %s: %s", pendingWords(r.Name), t.clock(due), why)
		return
	}
	t.acted(a, "moved %s from %s to %s", pendingWords(r.Name), t.clock(r.Due), t.clock(due))
	if name, ok := strings.CutPrefix(r.Name, seasonal); ok {
		t.setSeasonal(name, due)
		return
	}
	t.remind(r.Name, due)
	if r.Name == quiet {
		return
	}
	t.alive = true
	if t.c.Hold == nil && !t.c.OptedOut {
		words := t.words()
		words.Person = inAlphabet(t.nameOf(a))
		t.sayWith("moved", words)
	}
}

// dropTimer takes something pending away.
func (t *turn) dropTimer(a StaffAction) {
	r, ok := t.pendingByID(a.Reminder)
	if !ok {
		t.acted(a, "wanted to cancel a reminder that is not pending any more")
		return
	}
	if why := t.mayChange(a, r); why != "" {
		t.acted(a, "wanted to cancel %s: %s", pendingWords(r.Name), why)
		return
	}
	t.acted(a, "canceled %s of %s", pendingWords(r.Name), t.clock(r.Due))
	if name, ok := strings.CutPrefix(r.Name, seasonal); ok {
		t.takeBack(t.c.Consent.Seasonal[name])
		delete(t.c.Consent.Seasonal, name)
		return
	}
	t.cancel(r.Name)
	t.alive = t.alive || r.Name != quiet
}

// fireTimer has something pending happen now. Nothing goes on under the hands of a person
// who has the conversation.
func (t *turn) fireTimer(a StaffAction) {
	r, ok := t.pendingByID(a.Reminder)
	if !ok {
		t.acted(a, "wanted to have a reminder at once that is not pending any more")
		return
	}
	if why := t.mayChange(a, r); why != "" {
		t.acted(a, "wanted to have %s at once: %s", pendingWords(r.Name), why)
		return
	}
	t.acted(a, "had %s at once, in place of %s", pendingWords(r.Name), t.clock(r.Due))
	t.takeBack(Pending{ID: r.ID})
	t.ev.Reminder = r
	t.reminderDue()
}

// pause makes the conversation a person's, without a case: the assistant is quiet until
// they hand back.
func (t *turn) pause(a StaffAction) {
	if t.c.Hold != nil && t.c.Hold.By == a.By {
		return
	}
	t.acted(a, "took the conversation%s", because(a.Reason))
	first := t.c.Hold == nil
	if first {
		t.c.Hold = &Hold{Since: t.now}
	}
	t.c.Hold.By, t.c.Hold.Told = a.By, true
	t.sayOf("taken", a)
}

// speakIn changes the language that the owner is answered in.
func (t *turn) speakIn(a StaffAction) {
	if !t.speaks(a.Value) {
		t.acted(a, "wanted to change the language to %q, which has no texts", a.Value)
		return
	}
	t.acted(a, "changed the language to %s", a.Value)
	if t.c.Owner.Language == a.Value {
		return
	}
	t.c.Owner.Language = a.Value
	if t.c.Service != nil && t.c.Hold == nil && !t.c.OptedOut {
		t.again()
	}
}
