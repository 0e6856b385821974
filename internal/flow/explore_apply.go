package flow

import "slices"

// apply carries a transition out, as the turn code does: facts, what was added, the
// person, then the call or the next state.
func (x *explorer) apply(p place3, t *Transition, e edge, do func(edge)) {
	m := &e.to
	x.learn(m, t.Set)
	if i := x.doseIndex(t.Added); i >= 0 {
		x.add(m, i)
	}
	e.person = e.person || t.HandOver != nil && t.HandOver.Hold
	if call := x.flowIndex(t.Call); call > 0 && m.trouble == 0 {
		m.trouble = uint8(call)
		x.checkCall(p.state, x.flows[call], &e)
		x.enter(call, x.flows[call].Start, e, do)
		return
	}
	if t.To == "" {
		x.emit(e, do)
		return
	}
	if i := x.doseIndex(p.state.Dose); i >= 0 && m.dose[i] == x.doseAt[p.state] && e.forward(p.state) {
		m.dose[i] = maybeIn
	}
	x.enter(p.flow, t.To, e, do)
}

// forward tells whether leaving a dose's state this way leaves open that the dose went
// in: the wait ran out, or the owner answered, but nothing was noted as added.
func (e *edge) forward(s *State) bool {
	switch {
	case e.kind == timerDue || e.kind == callersTimerDue:
		return true
	case e.kind != ownerSays:
		return false
	}
	return slices.Contains([]string{"done", "yes", "answer"}, e.name) || slices.Contains(s.Ask.Choice, e.name)
}

// add notes that a dose went in.
func (x *explorer) add(m *memory, dose int) {
	m.dose[dose] = added
	x.forget(m)
	if dose == x.flush {
		m.product = inWater
	}
	if name := x.doses[dose]; name == doseBalance || name == doseNeutralizer {
		if i, ok := x.slotOf[numberRounds]; ok {
			m.slots[i] = uint8(min(int(m.slots[i])+1, len(x.slots[i].points)))
		}
	}
}

// enter goes to a state and through its skips, checks what must hold on arrival, and
// gives its dose.
func (x *explorer) enter(flow int, name string, e edge, do func(edge)) {
	m := &e.to
	x.glance.m = *m
	state, passed := x.flows[flow].Enter(name, &x.glance)
	if state == nil {
		return // Parse refuses unknown targets
	}
	for _, skip := range passed {
		x.learn(m, skip.Set)
	}
	if flow == 0 {
		m.at, m.trouble, m.inner = x.numbers[0][state.Name], 0, 0
	} else {
		m.inner = x.numbers[flow][state.Name]
	}
	x.seen[flow][state] = true
	p := x.placeOf(m)
	x.checkPhysical(p, &e)
	if state.Soakable {
		x.checkSoak(p, &e)
	}
	if i := x.doseIndex(state.Dose); i >= 0 {
		x.advise(state, i, &e)
	}
	if state.End && flow > 0 {
		x.giveBack(p, e, do)
		return
	}
	x.emit(e, do)
}

// advise gives a dose. Advised again from the same state before anything else was said
// about it, it is the same dose.
func (x *explorer) advise(s *State, dose int, e *edge) {
	m := &e.to
	if m.slots[slotVolume] == 0 {
		x.refute(doseNeedsVolume, e, "%s is advised in %q, but the volume is unknown", s.Dose, s.Name)
	}
	if became := m.dose[dose]; became != notAdvised && became != x.doseAt[s] {
		x.refute(noDoubleDose, e, "%s is advised in %q, but it %s", s.Dose, s.Name, x.becameWords(became, dose))
	}
	m.dose[dose] = x.doseAt[s]
	x.forget(m)
}

func (x *explorer) becameWords(became uint8, dose int) string {
	since := "no reading came in since"
	if dose == x.flush {
		since = "it may go in only once in a service"
	}
	switch became {
	case added:
		return "went in already, and " + since
	case maybeIn:
		return "may have gone in already (its state was left without `added`), and " + since
	}
	return "was advised in another state already, and " + since
}

// giveBack ends a trouble: at the state it names, or where it was called.
func (x *explorer) giveBack(p place3, e edge, do func(edge)) {
	m := &e.to
	end := p.state
	m.trouble, m.inner = 0, 0
	if end.Return != "" {
		x.enter(0, end.Return, e, do)
		return
	}
	under := x.placeOf(m)
	if end.Tub.Water != same && end.Tub.Water != under.state.Tub.Water {
		x.refute(sameResolves, &e, "%q returns with the water %s to %q, where it is %s; name the state to return to",
			end.Name, end.Tub.Water, under.state.Name, under.state.Tub.Water)
	}
	x.checkPhysical(under, &e)
	x.emit(e, do)
}

// tubAt is the tub's physical state, with "same" looked up in the caller.
func (x *explorer) tubAt(p place3) Tub {
	if p.flow == 0 {
		return p.state.Tub
	}
	return p.state.Tub.Over(p.under.Tub)
}

// productNow is what the state at hand says about flush product in the water. A trouble
// by itself does not know its caller, so there the memory tells.
func (x *explorer) productNow(m *memory) string {
	if now := x.tubAt(x.placeOf(m)).Product; now != same {
		return now
	}
	if m.product == inWater {
		return "in"
	}
	return "out"
}
