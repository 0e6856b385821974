package flow

import (
	"fmt"
	"slices"
)

// mostNodes bounds an exploration; past it Check says that it gave up.
const mostNodes = 400_000

// search is what an exploration has reached, breadth first: so the way to each node by
// its parents is a shortest one.
type search struct {
	nodes   []memory
	index   map[memory]int32
	parents []int32 // -1 for a beginning
	first   []int32 // of each node: where its edges begin in next
	next    []int32 // the nodes that edges lead to, each once a node
	good    []bool  // of each node: an end, or a person comes
	silent  []silentEdge
	tried   int
	full    bool
	most    int // nodes
	glance  glance
	current int32 // the node being expanded
	quiet   bool  // a counter-example is being told: refute nothing
}

// silentEdge is a way that needs no word of the owner.
type silentEdge struct {
	from, to int32
	moves    bool
}

// refutation is how a property fails.
type refutation struct {
	from int32 // -1: on the way into a beginning
	how  trigger
	what string
}

// refute records the first failure of a property.
func (x *explorer) refute(p property, e *edge, format string, args ...any) {
	if x.quiet || x.found[p] != nil {
		return
	}
	x.found[p] = &refutation{from: x.current, how: e.trigger, what: fmt.Sprintf(format, args...)}
}

// reach gives the number of a memory, noting it when it is new; -1 when there are too many.
func (x *explorer) reach(m memory, parent int32) int32 {
	if n, ok := x.index[m]; ok {
		return n
	}
	if len(x.nodes) >= x.most {
		x.full = true
		return -1
	}
	n := int32(len(x.nodes))
	x.index[m] = n
	x.nodes = append(x.nodes, m)
	x.parents = append(x.parents, parent)
	x.good = append(x.good, x.hasPerson(&m) || x.over(&m))
	return n
}

// hasPerson tells whether silence in a memory's state ends with a person.
func (x *explorer) hasPerson(m *memory) bool {
	p := x.placeOf(m)
	s := x.flows[p.flow].SilenceOf(p.state)
	return s != nil && s.Person > 0
}

// explore reaches everything that can be reached.
func (x *explorer) explore() {
	x.index = map[memory]int32{}
	x.glance.x = x
	x.current = -1
	x.beginnings(func(e edge) { x.reach(e.to, -1) })
	var marks []int32 // of each node: the last one with an edge to it, plus one
	for n := 0; n < len(x.nodes) && !x.full; n++ {
		x.current = int32(n)
		x.first = append(x.first, int32(len(x.next)))
		x.expand(x.nodes[n], func(e edge) {
			x.tried++
			to := x.reach(e.to, x.current)
			if to < 0 {
				return
			}
			if e.person {
				x.good[x.current] = true
			}
			if e.silent {
				x.silent = append(x.silent, silentEdge{x.current, to, e.moves})
			}
			marks = append(marks, make([]int32, len(x.nodes)-len(marks))...)
			if marks[to] != x.current+1 {
				marks[to] = x.current + 1
				x.next = append(x.next, to)
			}
		})
	}
	x.first = append(x.first, int32(len(x.next)))
}

// beginnings calls do with every way a flow can begin: the volume and the sanitizer
// known or not; of a trouble by itself, anything that its callers may have left behind.
func (x *explorer) beginnings(do func(edge)) {
	var begin func(m memory, i int)
	begin = func(m memory, i int) {
		if i == len(x.slots) {
			x.enter(0, x.flows[0].Start, edge{to: m}, do)
			return
		}
		size := 1
		if s := &x.slots[i]; x.alone && i != slotBand && i != slotPlan && (s.points != nil || x.shared[s.name]) {
			size = s.size()
		} else if i == slotVolume || s.name == factSanitizer {
			size = s.size()
		} else if x.alone && s.points == nil && (i == slotBand || i == slotPlan) {
			size = len(s.values)
		}
		for value := range size {
			m.slots[i] = uint8(value)
			begin(m, i+1)
		}
	}
	for _, m := range x.flushBefore() {
		begin(m, 0)
	}
}

// flushBefore lists what may have become of the flush product before a flow begins.
func (x *explorer) flushBefore() []memory {
	befores := []memory{{}}
	if x.alone {
		for _, became := range []uint8{maybeIn, added} {
			m := memory{product: inWater}
			m.dose[x.flush] = became
			befores = append(befores, m)
		}
	}
	return befores
}

// backwards gives which nodes can reach a good one.
func (x *explorer) backwards() []bool {
	into := make([][]int32, len(x.nodes))
	for n := range len(x.first) - 1 {
		for _, to := range x.next[x.first[n]:x.first[n+1]] {
			into[to] = append(into[to], int32(n))
		}
	}
	can := slices.Clone(x.good)
	var open []int32
	for n, good := range can {
		if good {
			open = append(open, int32(n))
		}
	}
	for len(open) > 0 {
		n := open[len(open)-1]
		open = open[:len(open)-1]
		for _, from := range into[n] {
			if !can[from] {
				can[from] = true
				open = append(open, from)
			}
		}
	}
	return can
}
