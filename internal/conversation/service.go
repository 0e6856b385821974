package conversation

import (
	"tubhand/internal/flow"
	"tubhand/internal/safety"
	"tubhand/internal/understand"
)

// advance offers what was meant to the running flow: its own transitions first, then
// those that are valid in every state.
func (t *turn) advance(m understand.Meaning) bool {
	f, s, ok := t.flow()
	if !ok {
		return false
	}
	signals := t.signals(m)
	t.look(s, signals)
	tr, ok := f.Match(s, signals, view{t})
	if !ok && t.c.Service.Caller != nil {
		return t.advanceCaller(signals)
	}
	if !ok {
		return false
	}
	t.unask()
	t.tellTrouble(s, m)
	t.apply(tr)
	return true
}

// advanceCaller lets the interrupted service hear what the trouble flow has no use
// for, as far as it is about everything (a fault, a wrong product).
func (t *turn) advanceCaller(signals []string) bool {
	f, ok := t.w.flows.Flow(t.c.Service.Caller.Flow)
	if !ok {
		return false
	}
	tr, ok := f.Match(&flow.State{}, signals, view{t})
	if !ok || tr.Call != "" {
		return false
	}
	t.popCaller()
	t.apply(tr)
	return true
}

// signals puts a meaning into the words of flow files, most telling first.
func (t *turn) signals(m understand.Meaning) []string {
	asked := t.c.Asked.Kind
	if asked == understand.AskedConfirm {
		asked = t.c.Asked.Was
	}
	var signals []string
	switch {
	case m.Choice != "":
		signals = append(signals, m.Choice)
	case asked == understand.AskedDone && m.Intent == understand.Yes:
		signals = append(signals, string(understand.Done))
	case unreadable(m.Readings), m.Volume != nil && m.Volume.Unknown:
		signals = append(signals, "unknown")
	case m.Clarify && (asked == understand.AskedYesNo || asked == understand.AskedChoice):
		signals = append(signals, "unknown")
	}
	return append(signals, string(m.Intent))
}

// apply carries a transition out.
func (t *turn) apply(tr *flow.Transition) {
	t.remark(tr)
	if tr.Call != "" && t.c.Service.Caller == nil {
		t.call(tr.Call)
		return
	}
	if tr.To != "" {
		t.enter(tr.To)
	}
}

// remark does what a transition does besides going somewhere.
func (t *turn) remark(tr *flow.Transition) {
	t.learn(tr.Set)
	if tr.Stamp != "" {
		put(&t.c.Service.Stamps, tr.Stamp, t.now)
		t.keep()
	}
	if tr.Added != "" {
		t.added(tr.Added)
	}
	if tr.Say != "" {
		t.say(tr.Say)
	}
	if tr.HandOver != nil {
		t.handOver(tr.HandOver.Cause, safety.Severity(tr.HandOver.Severity), tr.HandOver.Hold)
		if s := t.c.Service; s.Caller != nil && s.Flow == faultTrouble {
			s.Caller.Case = tr.HandOver.Cause
		}
	}
}

// learn keeps facts. The sanitizer belongs to the tub and outlives the service.
func (t *turn) learn(facts map[string]string) {
	for _, name := range sortedKeys(facts) {
		if name == "sanitizer" {
			t.c.Tub.Sanitizer = facts[name]
			continue
		}
		if name == "reminders" {
			t.agreeToReminders(facts[name] == "yes")
		}
		put(&t.c.Service.Facts, name, facts[name])
	}
}

// call runs a trouble flow. The caller's timers go on.
func (t *turn) call(name string) {
	f, ok := t.w.flows.Flow(name)
	if !ok {
		return
	}
	s := t.c.Service
	s.Caller = &Caller{Flow: s.Flow, State: s.State, Since: s.Since}
	s.Told = nil
	if t.ev.Kind == TextIn {
		t.tellFirst()
	}
	s.Flow = name
	if start, ok := f.State(f.Start); ok && name == faultTrouble && troubleFlow(t.heard.Intent) == name {
		if tr, ok := f.Match(start, []string{string(t.heard.Intent)}, view{t}); ok && tr.To != "" {
			s.State = f.Start // who told which trouble it is need not be asked
			t.apply(tr)
			return
		}
	}
	t.enter(f.Start)
}

// popCaller leaves a trouble flow for the place that called it.
func (t *turn) popCaller() {
	s := t.c.Service
	t.dropTimersOf(s.Flow, s.State)
	s.Flow, s.State, s.Since = s.Caller.Flow, s.Caller.State, s.Caller.Since
	s.Caller, s.Told = nil, nil
}

// enter goes to a state: skips what is known already, works out its dose, sets its
// timers, says its text and asks its question.
func (t *turn) enter(name string) {
	service := t.c.Service
	f, ok := t.w.flows.Flow(service.Flow)
	if !ok {
		return
	}
	t.dropTimersOf(service.Flow, service.State)
	s, passed := f.Enter(name, view{t})
	if s == nil {
		t.handOver("flow_broken", safety.Technician, true)
		return
	}
	for _, tr := range passed {
		t.remark(tr)
	}
	if s.Soakable && !t.fitToSoak() {
		t.handOver("unsafe_reading", safety.PersonSoon, true) // the flows' checks leave no way here
		t.say("person.held")
		return
	}
	service.State, service.Since = s.Name, t.now
	t.c.Asked, t.c.Misses, t.alive = Asked{}, 0, true
	t.log(LogEntry{Kind: "state", Name: s.Name, Text: service.Flow})
	if w := s.Tub.Water; w != "full" && w != "same" {
		t.newWater()
	}
	if s.Dose != "" && !t.dose(s.Dose) {
		return
	}
	t.setTimers(s)
	t.tell(s)
	if s.Soakable {
		t.tellNotes()
	}
	t.ask(s)
	t.askNight(s)
	if s.End {
		t.finish(s)
	}
}

// dose advises a state's dose. On an unsafe reading nothing is dosed, not even where a
// person handed back to it: first the water is tested again, or that person does it.
func (t *turn) dose(name string) bool {
	if t.judge().Band == safety.Person {
		t.handOver("unsafe_reading", safety.PersonSoon, true)
		key := "unsafe"
		if !t.w.words.Has(t.c.Service.Flow, key) {
			key = "dose_unknown"
		}
		t.say(key)
		return false
	}
	if t.advise(name) {
		return true
	}
	t.handOver("dose_unknown", safety.PersonSoon, true)
	t.say("dose_unknown")
	return false
}

// tell says a state's caution and text as one.
func (t *turn) tell(s *flow.State) {
	if s.WordingKey() == "" {
		return
	}
	before := len(t.says)
	if s.Caution != "" {
		t.say("cautions." + s.Caution)
	}
	t.say(s.WordingKey())
	if len(t.says) == before+2 {
		t.says = append(t.says[:before], t.says[before]+" "+t.says[before+1])
	}
}

// again says the present step once more: what is short for it, or else all of it.
func (t *turn) again() {
	_, s, ok := t.flow()
	if !ok {
		return
	}
	if key := s.Name + ".again"; t.w.words.Has(t.c.Service.Flow, key) {
		t.say(key)
	} else {
		t.tell(s)
	}
	t.ask(s)
}

// ask remembers what a state asks, so that the next text is read in that light.
func (t *turn) ask(s *flow.State) {
	a := Asked{}
	switch {
	case s.Ask.Done:
		a.Kind = understand.AskedDone
	case s.Ask.YesNo:
		a.Kind = understand.AskedYesNo
	case s.Ask.Volume:
		a.Kind = understand.AskedVolume
	case s.Ask.Time:
		a.Kind = understand.AskedTime
	case len(s.Ask.Readings) > 0:
		a.Kind, a.Readings = understand.AskedReadings, t.quantities(s.Ask.Readings)
	case len(s.Ask.Choice) > 0:
		a.Kind, a.Choices = understand.AskedChoice, s.Ask.Choice
	}
	t.c.Asked = a
}

// finish ends a run; a trouble goes back to where it was called from.
func (t *turn) finish(s *flow.State) {
	service := t.c.Service
	if service.Caller != nil {
		broken := service.Caller.Case
		t.popCaller()
		if h := t.openCase(broken); h != nil && t.c.Hold == nil {
			t.c.Hold = &Hold{Handover: h.ID, Since: t.now, Told: true} // something is broken: the service waits for who takes the case
			return
		}
		if s.Return != "" {
			t.enter(s.Return)
			return
		}
		t.again()
		return
	}
	if s.Soakable && service.Added[flushDose].Name != "" {
		t.c.Tub.LastFlush = t.now
	}
	t.dropTimers()
	t.c.Service, t.c.Asked = nil, Asked{}
	flushed := t.c.Tub.LastFlush.Equal(t.now)
	if flushed || choreOf(service.Flow) != ChoreFlush {
		t.choreDone(service.Flow)
	}
	if flushed {
		t.askMonths(service.Flow)
	}
	t.setChores()
	t.offerAtEnd()
}
