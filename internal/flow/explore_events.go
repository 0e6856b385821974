package flow

// trigger is what happens to a memory. It is kept small; words for it are made only
// when a counter-example is told.
type trigger struct {
	kind  triggerKind
	name  string // a signal or timer
	heard memory // with readings and volumes: what is known after them
}

type triggerKind uint8

const (
	ownerSays triggerKind = iota
	ownerMeasures
	ownerTellsVolume
	ownerGoesBack
	timerDue
	callersTimerDue
	readingsStale
	handedBack
)

// edge is one way from a memory to the next.
type edge struct {
	trigger
	to     memory
	person bool // a person holds the service
	silent bool // the owner need say nothing for it
	moves  bool // a timer leads to another state, or anew into this one
}

// place3 is where a memory is: the flow and state that hear the owner first, and the
// service's state beneath.
type place3 struct {
	flow  int
	state *State
	under *State // the service's state; the same as state outside a trouble
}

func (x *explorer) placeOf(m *memory) place3 {
	under := x.flows[0].States[m.at]
	if m.trouble == 0 {
		return place3{0, under, under}
	}
	return place3{int(m.trouble), x.flows[m.trouble].States[m.inner], under}
}

// over tells whether the service has ended.
func (x *explorer) over(m *memory) bool {
	return m.trouble == 0 && x.flows[0].States[m.at].End
}

// expand calls do with every edge out of a memory.
func (x *explorer) expand(m memory, do func(edge)) {
	if x.over(&m) {
		return
	}
	p := x.placeOf(&m)
	for _, signal := range x.heard[p.state] {
		switch signal {
		case signalReadings, signalVolume, signalVolumeChanged:
		default:
			x.say(p, m, trigger{kind: ownerSays, name: signal}, do)
		}
	}
	x.tellVolume(p, m, do)
	x.measure(p, m, do)
	x.goBack(p, m, do)
	x.timers(p, m, do)
	stale := m
	x.forget(&stale)
	x.emit(edge{trigger: trigger{kind: readingsStale}, to: stale, silent: true}, do)
	x.enter(p.flow, p.state.Name, edge{trigger: trigger{kind: handedBack}, to: m}, do)
}

// emit hands an edge on, tidied.
func (x *explorer) emit(e edge, do func(edge)) {
	x.tidy(&e.to)
	do(e)
}

// match finds what a signal does: in the active flow, or else what the interrupted
// service does about it in every state (never a call).
func (x *explorer) match(p place3, m *memory, signal string) (t *Transition, pops bool) {
	signals := [1]string{signal}
	x.glance.m = *m
	if t, ok := x.flows[p.flow].Match(p.state, signals[:], &x.glance); ok {
		return t, false
	}
	if p.flow == 0 {
		return nil, false
	}
	if t, ok := x.flows[0].Match(x.always[0], signals[:], &x.glance); ok && t.Call == "" {
		return t, true
	}
	return nil, false
}

// say offers a signal and tells whether anything came of it.
func (x *explorer) say(p place3, m memory, why trigger, do func(edge)) bool {
	t, pops := x.match(p, &m, why.name)
	if t == nil {
		return false
	}
	if pops {
		m.trouble, m.inner = 0, 0
		p = x.placeOf(&m)
	}
	x.apply(p, t, edge{trigger: why, to: m}, do)
	return true
}

// tellVolume lets the owner tell a volume, asked or not. It may be heard as the answer,
// as a change, or only be noted.
func (x *explorer) tellVolume(p place3, m memory, do func(edge)) {
	if x.liveAt(&m).rest&slotBit(slotVolume) == 0 && !x.listensTo(p, signalVolume) && !x.listensTo(p, signalVolumeChanged) {
		return
	}
	for region := range x.slots[slotVolume].points {
		m.slots[slotVolume] = uint8(region + 1)
		matched := x.say(p, m, trigger{ownerTellsVolume, signalVolume, m}, do)
		x.say(p, m, trigger{ownerTellsVolume, signalVolumeChanged, m}, do)
		if !matched || !p.state.Ask.Volume {
			x.emit(edge{trigger: trigger{kind: ownerTellsVolume, heard: m}, to: m}, do)
		}
	}
}

func (x *explorer) listensTo(p place3, signal string) bool {
	for _, heard := range x.heard[p.state] {
		if heard == signal {
			return true
		}
	}
	return false
}

// measure lets the owner send readings, asked or not, with every outcome that guards
// can tell apart: complete or not, each number in each region or missing.
func (x *explorer) measure(p place3, m memory, do func(edge)) {
	live := x.liveAt(&m).heard
	x.outcomes(m, 0, live, func(m memory) {
		if live&slotBit(slotBand) == 0 { // nobody asks for the band, so it may be any
			x.measured(p, m, true, do)
		}
		x.measured(p, m, x.band(&m) != bandUnmeasured, do)
	})
}

// band is the name of the band that readings are in.
func (x *explorer) band(m *memory) string { return x.slots[slotBand].values[m.slots[slotBand]] }

// outcomes goes through every value of every measured slot that is asked about.
func (x *explorer) outcomes(m memory, i int, live bits, do func(memory)) {
	if i == len(x.slots) {
		do(m)
		return
	}
	if live&x.measuredBits&slotBit(i) == 0 {
		x.outcomes(m, i+1, live, do)
		return
	}
	for value := range x.slots[i].outcomes() {
		m.slots[i] = uint8(value)
		x.outcomes(m, i+1, live, do)
	}
}

// measured goes on from readings: they may be what was asked for, or only be noted. A
// reading that is neither complete nor asked for does not allow the next dose.
func (x *explorer) measured(p place3, m memory, complete bool, do func(edge)) {
	asks := len(p.state.Ask.Readings) > 0
	if complete || asks {
		x.reading(&m)
	}
	matched := x.say(p, m, trigger{ownerMeasures, signalReadings, m}, do)
	if matched && asks {
		return
	}
	x.noted(p, edge{trigger: trigger{kind: ownerMeasures, heard: m}, to: m}, do)
}

// noted stays, whatever was read. (The turn code holds the service for readings that a
// person must see, but that is no way out that a flow may count on.) A state that lets
// soak must not go on saying so over a worse reading.
func (x *explorer) noted(p place3, e edge, do func(edge)) {
	if band := x.band(&e.to); p.state.Soakable && band == bandFix {
		x.refute(soakIsFresh, &e, "%q still says that they can soak, but the readings are in the band %s", p.state.Name, band)
	}
	x.emit(e, do)
}

func (x *explorer) goBack(p place3, m memory, do func(edge)) {
	if t, _ := x.match(p, &m, "undo"); t != nil || p.state.Back == "" {
		return
	}
	x.enter(p.flow, p.state.Back, edge{trigger: trigger{kind: ownerGoesBack}, to: m}, do)
}

// timers lets each timer run out, in any order. Those of an interrupted service go on,
// and end the trouble when they are due.
func (x *explorer) timers(p place3, m memory, do func(edge)) {
	for i := range p.state.Timers {
		x.due(p, &p.state.Timers[i], edge{trigger: trigger{kind: timerDue, name: p.state.Timers[i].Name}, to: m, silent: true}, do)
	}
	if p.flow == 0 {
		return
	}
	m.trouble, m.inner = 0, 0
	p = x.placeOf(&m)
	for i := range p.state.Timers {
		timer := &p.state.Timers[i]
		e := edge{trigger: trigger{kind: callersTimerDue, name: timer.Name}, to: m, silent: true, moves: true}
		if !x.due(p, timer, e, do) {
			x.emit(e, do)
		}
	}
}

// due does what a timer does and tells whether its guard lets it.
func (x *explorer) due(p place3, timer *Timer, e edge, do func(edge)) bool {
	x.glance.m = e.to
	if timer.If.Eval(&x.glance) != True {
		return false
	}
	e.moves = e.moves || timer.To != "" || timer.Call != ""
	x.apply(p, &timer.Transition, e, do)
	return true
}
