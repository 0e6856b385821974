package flow

import (
	"fmt"
	"slices"
	"strings"
	"time"
)

// proveReached notes states that nothing ever rests in.
func (x *explorer) proveReached() {
	var missing []string
	for _, s := range x.flows[0].States {
		if !x.seen[0][s] {
			missing = append(missing, s.Name)
		}
	}
	if len(missing) > 0 {
		x.found[allReached] = &refutation{from: -1, what: "nothing leads to " + strings.Join(missing, ", ") +
			" (or it is always skipped)"}
	}
}

// proveFinish notes a node that no end and no person can be reached from.
func (x *explorer) proveFinish() {
	if x.full {
		return
	}
	n := slices.Index(x.backwards(), false)
	if n >= 0 {
		x.found[canFinish] = &refutation{from: int32(n), what: fmt.Sprintf("from %q on, nothing leads to an end or a person",
			x.placeOf(&x.nodes[n]).state.Name)}
	}
}

// proveSilence notes a state that silence does not end, or a circle of timers that
// starts the silence anew each time, so that nobody ever comes.
func (x *explorer) proveSilence() {
	for n := range x.nodes {
		if m := &x.nodes[n]; !x.over(m) && !x.hasPerson(m) {
			x.found[silenceEnds] = &refutation{from: int32(n), what: fmt.Sprintf(
				"when the owner says nothing in %q, no person ever comes; give the state or the flow a silence with a person",
				x.placeOf(m).state.Name)}
			return
		}
	}
	if n := x.timerCircle(); n >= 0 {
		x.found[silenceEnds] = &refutation{from: n, what: fmt.Sprintf(
			"timers lead from %q back to it, and each starts the silence anew, so no person ever comes",
			x.placeOf(&x.nodes[n]).state.Name)}
	}
}

// timerCircle finds a node on a circle of silent edges of which at least one moves; -1
// where there is none.
func (x *explorer) timerCircle() int32 {
	out := make(map[int32][]silentEdge)
	for _, e := range x.silent {
		out[e.from] = append(out[e.from], e)
	}
	group := components(len(x.nodes), func(n int32, do func(int32)) {
		for _, e := range out[n] {
			do(e.to)
		}
	})
	for _, e := range x.silent {
		if e.moves && group[e.from] == group[e.to] {
			return e.from
		}
	}
	return -1
}

// components numbers the strongly connected components of a graph (Tarjan's algorithm,
// with a stack of its own, since a chain of nodes can be long).
func components(nodes int, out func(n int32, do func(int32))) []int32 {
	type frame struct {
		n    int32
		next []int32
	}
	order, low, group := make([]int32, nodes), make([]int32, nodes), make([]int32, nodes)
	var stack []int32
	var counter, groups int32
	open := func(n int32) frame {
		counter++
		order[n], low[n] = counter, counter
		stack = append(stack, n)
		f := frame{n: n}
		out(n, func(to int32) { f.next = append(f.next, to) })
		return f
	}
	for root := range int32(nodes) {
		if order[root] != 0 {
			continue
		}
		frames := []frame{open(root)}
		for len(frames) > 0 {
			f := &frames[len(frames)-1]
			if len(f.next) > 0 {
				to := f.next[0]
				f.next = f.next[1:]
				switch {
				case order[to] == 0:
					frames = append(frames, open(to))
				case group[to] == 0:
					low[f.n] = min(low[f.n], order[to])
				}
				continue
			}
			n := f.n
			frames = frames[:len(frames)-1]
			if len(frames) > 0 {
				above := frames[len(frames)-1].n
				low[above] = min(low[above], low[n])
			}
			if low[n] == order[n] {
				groups++
				for {
					top := stack[len(stack)-1]
					stack = stack[:len(stack)-1]
					group[top] = groups
					if top == n {
						break
					}
				}
			}
		}
	}
	return group
}

// briefest is how long power over low water may go without a timer or a word: the
// blow-out takes seconds (common practice, no source; the bound is our decision).
const briefest = 5 * time.Minute

// proveBrief notes a brief state that nothing ends soon.
func (x *explorer) proveBrief() {
	for n := range x.nodes {
		p := x.placeOf(&x.nodes[n])
		if p.brief() && !x.endsSoon(p) && x.found[powerNeedsWater] == nil {
			x.found[powerNeedsWater] = &refutation{from: int32(n), what: fmt.Sprintf(
				"the power is on over low water in %q, but no timer and no nudge comes within %s", p.state.Name, briefest)}
		}
	}
}

func (x *explorer) endsSoon(p place3) bool {
	for _, s := range []*State{p.state, p.under} { // an interrupted service's timers go on
		for i := range s.Timers {
			if after, ok := s.Timers[i].Fixed(); ok && after <= briefest {
				return true
			}
		}
	}
	s := x.flows[p.flow].SilenceOf(p.state)
	return s != nil && (len(s.Nudge) > 0 && time.Duration(s.Nudge[0]) <= briefest || time.Duration(s.Person) <= briefest)
}

// proveWording notes the wordings that are missing.
func (x *explorer) proveWording(has Wording) {
	if has == nil {
		x.wordless = true
		return
	}
	f := x.flows[0]
	there := func(key string) bool { return has(f.Name, key) || has("common", key) }
	var missing []string
	for _, key := range f.WordingKeys() {
		if !there(key) {
			missing = append(missing, key)
		}
	}
	for _, s := range f.States {
		silence := f.SilenceOf(s)
		if s.End || silence == nil || len(silence.Nudge) == 0 {
			continue
		}
		if !there(s.Name+".nudge") && !there("nudge") {
			missing = append(missing, s.Name+".nudge")
		}
	}
	if len(missing) > 0 {
		x.found[wordingExists] = &refutation{from: -1, what: "missing in " + f.Name + ": " + strings.Join(missing, ", ")}
	}
}
