package flow

// What nobody asks about any more need not be remembered: memories that can't differ
// in what follows then count as one, and an exploration stays small. This file works
// out what is still asked about ("live") in each state. It is done for each thing that
// can have become of the flush product, since many guards ask about that.

// bits is a set of slots and, above them, doses.
type bits uint32

func slotBit(i int) bits { return 1 << i }
func doseBit(i int) bits { return 1 << (mostSlots + i) }

// stages are what guards can tell of the flush product; it goes from one to the next.
const stages = 3

func stageOf(became uint8) int {
	switch became {
	case notAdvised:
		return 0
	case added:
		return 2
	}
	return 1
}

// liveness is what is asked about from a state on.
type liveness struct {
	rest  bits // while resting in it
	enter bits // on the way into it, skips included
	heard bits // when readings have just come in
}

// staticView sees only what the file and the stage tell.
type staticView struct {
	stage   int
	product string
}

// Number is never known beforehand.
func (staticView) Number(string) (float64, bool) { return 0, false }

// Fact knows the flush product, and where the state is not a trouble's, whether it is
// in the water.
func (v staticView) Fact(name string) (string, bool) {
	switch name {
	case factFlush:
		return [stages]string{"no", "advised", "in"}[v.stage], true
	case factProduct:
		return v.product, v.product != same
	}
	return "", false
}

// perhapsKnown is what Known means before anything has happened: what the file alone
// does not tell may come to be known.
func perhapsKnown(name string, v View) Truth {
	if known(name, v) == True {
		return True
	}
	return Unknown
}

// findLive repeats until nothing changes; sets only grow, so it ends.
func (x *explorer) findLive() {
	for stage := range stages {
		x.live[stage] = make([][]liveness, len(x.flows))
		for i, f := range x.flows {
			x.live[stage][i] = make([]liveness, len(f.States))
		}
	}
	for again := true; again; {
		again = false
		for stage := stages - 1; stage >= 0; stage-- {
			for i := len(x.flows) - 1; i >= 0; i-- {
				for j := len(x.flows[i].States) - 1; j >= 0; j-- {
					now := x.liveIn(stage, i, x.flows[i].States[j])
					again = again || now != x.live[stage][i][j]
					x.live[stage][i][j] = now
				}
			}
		}
	}
}

// liveIn works out one state's liveness from its neighbours'.
func (x *explorer) liveIn(stage, flow int, s *State) liveness {
	view := staticView{stage, s.Tub.Product}
	old := x.live[stage][flow][x.numbers[flow][s.Name]]
	l := liveness{rest: old.rest | old.enter | x.entered(stage, flow, s.Back), heard: old.rest}
	if s.Soakable {
		l.heard |= slotBit(slotBand) | slotBit(slotTemperature)
	}
	for _, list := range [][]Transition{s.On, x.flows[flow].Always} {
		for i := range list {
			t := &list[i]
			ahead := x.ahead(stage, flow, s, t, view)
			switch t.When {
			case signalReadings:
				l.heard |= ahead
				ahead &^= x.measuredBits
			case signalVolume, signalVolumeChanged:
				ahead &^= slotBit(slotVolume)
			}
			l.rest |= ahead
		}
	}
	for i := range s.Timers {
		l.rest |= x.ahead(stage, flow, s, &s.Timers[i].Transition, view)
	}
	l.enter = x.restOnEntry(stage, flow, s)
	for i := range s.Skip {
		l.enter |= x.ahead(stage, flow, s, &s.Skip[i], staticView{stage, same})
	}
	return l
}

// restOnEntry is what is live on the way into a state that does not skip.
func (x *explorer) restOnEntry(stage, flow int, s *State) bits {
	number := x.numbers[flow][s.Name]
	dose := x.doseIndex(s.Dose)
	var live bits
	switch {
	case dose == x.flush:
		live = x.live[1][flow][number].rest
	default:
		live = x.live[stage][flow][number].rest
	}
	if dose >= 0 {
		live = live&^x.measuredBits | slotBit(slotVolume) | doseBit(dose)
	}
	if s.Soakable {
		live |= slotBit(slotBand) | slotBit(slotTemperature)
	}
	if s.End && flow > 0 {
		live |= x.entered(stage, 0, s.Return)
	}
	return live
}

// entered is what is live on the way into a state by its name.
func (x *explorer) entered(stage, flow int, name string) bits {
	if number, ok := x.numbers[flow][name]; ok {
		return x.live[stage][flow][number].enter
	}
	return 0
}

// ahead is what a transition out of s asks about, and what is asked about behind it, but
// for what it settles itself. One that stays may still bring the flush product a stage
// on, and then s itself asks about other things.
func (x *explorer) ahead(stage, flow int, s *State, t *Transition, view View) bits {
	if t.If.eval(view, perhapsKnown) == False {
		return 0
	}
	asks := x.guardBits(t.If)
	dose := x.doseIndex(t.Added)
	if dose == x.flush {
		stage = stages - 1
	}
	behind := x.entered(stage, flow, t.To)
	if t.To == "" {
		behind = x.live[stage][flow][x.numbers[flow][s.Name]].rest
	}
	if call := x.flowIndex(t.Call); call > 0 && flow == 0 {
		behind |= x.entered(stage, call, x.flows[call].Start)
	}
	if dose >= 0 {
		behind &^= x.measuredBits
	}
	for name := range t.Set {
		if i, ok := x.slotOf[name]; ok {
			behind &^= slotBit(i)
		}
	}
	return asks | behind
}

// guardBits are the slots and doses that a guard asks about.
func (x *explorer) guardBits(g *Guard) bits {
	a := asked{numbers: map[string]map[float64]bool{}, facts: map[string]bool{}}
	a.add(g)
	var found bits
	if a.facts[factFlush] {
		found |= doseBit(x.flush)
	}
	for name := range a.facts {
		if i, ok := x.slotOf[name]; ok {
			found |= slotBit(i)
		}
	}
	for name := range a.numbers {
		found |= slotBit(x.slotOf[name])
	}
	return found
}

// liveAt is what is live in a memory. Within a trouble that is also what the
// interrupted service asks about, at any stage that the trouble may bring.
func (x *explorer) liveAt(m *memory) liveness {
	stage := stageOf(m.dose[x.flush])
	if m.trouble == 0 {
		return x.live[stage][0][m.at]
	}
	l := x.live[stage][m.trouble][m.inner]
	for ; stage < stages; stage++ {
		under := x.live[stage][0][m.at]
		l.rest |= under.rest
		l.heard |= under.heard
	}
	return l
}

// tidy forgets what nobody asks about any more. What became of the flush product is
// always kept: the physical proofs need it.
func (x *explorer) tidy(m *memory) {
	if x.keepAll {
		return
	}
	live := x.liveAt(m).rest
	for i := range x.slots {
		if live&slotBit(i) == 0 {
			m.slots[i] = 0
		}
	}
	for i := range m.dose {
		if live&doseBit(i) == 0 && i != x.flush {
			m.dose[i] = notAdvised
		}
	}
}

// doseIndex finds a dose's place in memory.dose; -1 for none.
func (x *explorer) doseIndex(name string) int {
	for i, dose := range x.doses {
		if dose == name {
			return i
		}
	}
	return -1
}

// flowIndex finds a called trouble; 0 where there is none.
func (x *explorer) flowIndex(name string) int {
	for i := 1; i < len(x.flows); i++ {
		if x.flows[i].Name == name {
			return i
		}
	}
	return 0
}
