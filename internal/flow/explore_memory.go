package flow

import "slices"

// mostSlots bounds what the exploration keeps beside the place in the flow.
const mostSlots = 24

// memory is one abstract state: where the service and a called trouble are, and all
// that a guard or a proof can ask about. It is small and comparable, so that hundreds
// of thousands of them can be told apart.
type memory struct {
	at      uint8    // the service's state
	trouble uint8    // 0: none, else the flow's index
	inner   uint8    // the trouble's state
	product uint8    // what became of the flush product: never, inWater, drained
	dose    [4]uint8 // by the order of Doses: what became of it
	slots   [mostSlots]uint8
}

// What became of the flush product.
const (
	neverIn uint8 = iota
	inWater
	drained
)

// What became of a dose since the last reading. Values between are the number of the
// state that advised it, plus one.
const (
	notAdvised uint8 = 0
	maybeIn    uint8 = 254 // its state was left without a word about it
	added      uint8 = 255
)

// The first slots are always the same.
const (
	slotBand = iota
	slotPlan
	slotVolume
	slotTemperature
	slotFirst
)

// slot is one thing remembered: a number (its regions) or a fact (its values). Value 0
// means not known, but for the band and the plan, whose first value says so itself.
type slot struct {
	name   string
	values []string  // of a fact
	points []float64 // of a number: one value for each region that guards tell apart
}

func (s *slot) size() int {
	if s.points != nil {
		return len(s.points) + 1
	}
	return len(s.values) + 1
}

// measured tells whether readings fill the slot.
func (s *slot) measured() bool {
	switch s.name {
	case factBand, factPlan:
		return true
	case numberVolume, numberRounds:
		return false
	}
	return s.points != nil
}

// values that a measured slot can take after readings, not known included.
func (s *slot) outcomes() int {
	if s.points == nil {
		return len(s.values)
	}
	return len(s.points) + 1
}

// shows writes a slot's value for people.
func (s *slot) shows(value uint8) string {
	switch {
	case s.name == factBand || s.name == factPlan:
		return s.values[value]
	case value == 0:
		return "unknown"
	case s.points != nil:
		return "known"
	}
	return s.values[value-1]
}

// glance is how guards see a memory.
type glance struct {
	x *explorer
	m memory
}

// Number gives one value of the region that the number is in.
func (g *glance) Number(name string) (float64, bool) {
	i, ok := g.x.slotOf[name]
	if !ok || g.x.slots[i].points == nil {
		return 0, false
	}
	value := g.m.slots[i]
	if name == numberRounds {
		return float64(value), true
	}
	if value == 0 {
		return 0, false
	}
	return g.x.slots[i].points[value-1], true
}

// Fact gives the value of a fact.
func (g *glance) Fact(name string) (string, bool) {
	switch name {
	case factProduct:
		return g.x.productNow(&g.m), true
	case factFlush:
		return flushFact(g.m.dose[g.x.flush]), true
	case factRunning:
		return g.x.tubAt(g.x.placeOf(&g.m)).running()
	}
	i, ok := g.x.slotOf[name]
	if !ok || g.x.slots[i].points != nil {
		return "", false
	}
	value := g.m.slots[i]
	if name == factBand || name == factPlan {
		return g.x.slots[i].values[value], true
	}
	if value == 0 {
		return "", false
	}
	return g.x.slots[i].values[value-1], true
}

func flushFact(became uint8) string {
	switch became {
	case notAdvised:
		return "no"
	case added:
		return "in"
	}
	return "advised"
}

// forget drops what was measured: readings count only until the next addition, or for
// so long.
func (x *explorer) forget(m *memory) {
	for i := range x.slots {
		if x.measuredBits&slotBit(i) != 0 {
			m.slots[i] = 0
		}
	}
}

// learn sets facts.
func (x *explorer) learn(m *memory, facts map[string]string) {
	for name, value := range facts {
		if i, ok := x.slotOf[name]; ok {
			m.slots[i] = uint8(slices.Index(x.slots[i].values, value) + 1)
		}
	}
}

// reading takes what a test showed: afterwards a chemical may be advised again, but for
// the flush product, which no reading measures.
func (x *explorer) reading(m *memory) {
	for i := range m.dose {
		if i != x.flush {
			m.dose[i] = notAdvised
		}
	}
}
