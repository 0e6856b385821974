package conversation

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"tubhand/internal/flow"
	"tubhand/internal/safety"
)

// staffAct carries out what a member of staff did. Their words go out as they are.
func (t *turn) staffAct() {
	a := t.ev.Staff
	t.class = ClassStaff
	t.begunByStaff(a.By)
	switch a.Act {
	case Claim:
		t.claim(a)
	case Reply:
		t.reply(a)
	case HandBack:
		t.handBack(a)
	case CloseIt:
		t.closeCases(a)
	case NoteIt:
		t.writeDown(a)
	case StartIt:
		t.startFor(a)
	case Correct:
		t.correct(a)
	case SetFact:
		t.setFact(a)
	case MoveTimer:
		t.moveTimer(a)
	case DropTimer:
		t.dropTimer(a)
	case FireTimer:
		t.fireTimer(a)
	case Pause:
		t.pause(a)
	case Speak:
		t.speakIn(a)
	}
}

// acted leaves a trace of what a member of staff did: who, when and what.
func (t *turn) acted(a StaffAction, format string, args ...any) {
	t.line(Line{Direction: Note, By: a.By, Text: t.nameOf(a) + " " + fmt.Sprintf(format, args...)})
}

// nameOf is what to call who acted: as the shop's file has it, else as they signed in.
func (t *turn) nameOf(a StaffAction) string {
	for _, p := range t.w.shop.Staff {
		if p.Key == a.By {
			return p.Name
		}
	}
	if a.Name != "" {
		return a.Name
	}
	return t.w.shop.StaffName(a.By)
}

// startFor starts a service for an owner, where none runs and nobody holds it.
func (t *turn) startFor(a StaffAction) {
	f, ok := t.w.flows.Flow(a.Flow)
	switch {
	case !ok || f.Kind != flow.ServiceKind:
		t.acted(a, "wanted to start %q, which is no service", a.Flow)
	case t.c.Service != nil || t.c.Hold != nil:
		t.acted(a, "wanted to start the %s; one is running or on hold", strings.ToLower(f.Title))
	default:
		t.acted(a, "started the %s", strings.ToLower(f.Title))
		t.start(f)
	}
}

// writeDown keeps a remark with the case that it names, or with all that are open. The
// owner is not told.
func (t *turn) writeDown(a StaffAction) {
	if strings.TrimSpace(a.Text) == "" {
		return
	}
	var causes []string
	for i := range t.c.Open {
		h := &t.c.Open[i]
		if a.Handover != "" && h.ID != a.Handover {
			continue
		}
		h.Notes = append(slices.Clone(h.Notes), Remark{At: t.now, By: a.By, Text: a.Text})
		t.fx.Handovers = append(t.fx.Handovers, *h)
		causes = append(causes, spaced(h.Cause))
	}
	if len(causes) == 0 {
		t.acted(a, "noted: %s", a.Text)
		return
	}
	t.acted(a, "noted on %s: %s", english.list(causes), a.Text)
}

// claim gives a case to a person; from then on the assistant is quiet.
func (t *turn) claim(a StaffAction) {
	if !t.take(a) {
		return
	}
	t.sayOf("taken", a)
}

// sayOf says what names a person of the shop.
func (t *turn) sayOf(key string, a StaffAction) {
	words := t.words()
	words.Person = inAlphabet(t.nameOf(a))
	t.sayWith(key, words)
}

// take marks the case, or all that are open, as this person's.
func (t *turn) take(a StaffAction) bool {
	taken := false
	for i := range t.c.Open {
		h := &t.c.Open[i]
		if a.Handover != "" && h.ID != a.Handover || h.By == a.By {
			continue
		}
		h.By, h.Claimed = a.By, t.now
		t.fx.Handovers = append(t.fx.Handovers, *h)
		t.answered(*h, a.By)
		t.acted(a, "took the case: %s", spaced(h.Cause))
		taken = true
	}
	if taken || a.Act == Reply {
		if t.c.Hold == nil {
			t.c.Hold = &Hold{Handover: a.Handover, Since: t.now}
		}
		t.c.Hold.By = a.By
		t.c.Hold.Told = true
	}
	return taken
}

// reply sends a person's words and makes the conversation theirs. After an opt-out
// nothing goes out, from people neither.
func (t *turn) reply(a StaffAction) {
	if t.c.OptedOut {
		t.note("Not sent, the owner has opted out of texts; please phone: " + a.Text)
		return
	}
	t.take(a)
	t.line(Line{Direction: Staff, By: a.By, Text: a.Text, Send: true, Class: ClassStaff})
}

// handBack closes the cases and lets the service go on, at a state chosen by the person.
func (t *turn) handBack(a StaffAction) {
	t.closeAll(a, "")
	t.acted(a, "handed the conversation back")
	t.c.Hold, t.c.Tub.Tried = nil, nil
	if t.c.Service != nil {
		t.c.Service.Paused, t.c.Service.Void = false, false
	}
	t.forget() // what the two of them did meanwhile is not in the log
	t.sayOf("back_with_me", a)
	if t.c.Service == nil {
		t.say("menu")
		return
	}
	t.resumeAt(a)
}

// resumeAt goes on at the chosen state of the running flow, or of the one that a trouble
// interrupted; "" and a state that is in neither mean where it was. Nobody hands back to
// where soaking is allowed without the test that allows it.
func (t *turn) resumeAt(a StaffAction) {
	state := a.State
	f, _, ok := t.flow()
	if !ok {
		return
	}
	if caller := t.c.Service.Caller; caller != nil {
		if outer, ok := t.w.flows.Flow(caller.Flow); ok && !has(f, state) && has(outer, state) {
			t.popCaller()
			f = outer
		}
	}
	s, ok := f.State(state)
	switch {
	case state == "":
	case !ok:
		t.acted(a, "chose %q, which is no step of this service; it goes on where it was", state)
	case s.Soakable && !t.fitToSoak():
		t.acted(a, "chose %q; there is no fresh test that allows it, so it goes on where it was", spaced(state))
		ok = false
	}
	if !ok {
		state = t.c.Service.State
	}
	t.enter(state)
}

func has(f *flow.Flow, state string) bool {
	_, ok := f.State(state)
	return ok
}

// closeCases closes one case, or all; the hold ends with the last.
func (t *turn) closeCases(a StaffAction) {
	key := "closed"
	if t.openWhere(func(h Handover) bool { return h.Severity == string(safety.Emergency) }) != nil {
		key = "closed.emergency" // nobody is told that what hurt them is closed
	}
	t.closeAll(a, a.Handover)
	if len(t.c.Open) > 0 {
		return
	}
	t.c.Hold, t.alive = nil, true
	t.forget()
	if _, s, ok := t.flow(); ok && t.nextTimer().IsZero() {
		t.setTimers(s) // what ran out meanwhile was not said
	}
	if s := t.c.Service; s != nil && s.Void {
		s.Void = false
		t.doseAnew()
	}
	t.sayOf(key, a)
}

func outcomeText(outcome string) string {
	if outcome == "" {
		return ""
	}
	return ". Outcome: " + outcome
}

// closeAll closes the case that is named, or all.
func (t *turn) closeAll(a StaffAction, only string) {
	var left []Handover
	for _, h := range t.c.Open {
		if only != "" && h.ID != only {
			left = append(left, h)
			continue
		}
		if h.By == "" {
			h.By, h.Claimed = a.By, t.now
		}
		h.Closed, h.Outcome = t.now, a.Text
		if h.Cause == string(safety.InfectionSymptoms) {
			t.c.Tub.Ill = time.Time{} // a person has settled what to do about it
		}
		t.fx.Handovers = append(t.fx.Handovers, h)
		t.answered(h, a.By)
		t.acted(a, "closed the case: %s%s", spaced(h.Cause), outcomeText(a.Text))
	}
	t.c.Open = left
}
