package flow

import (
	"fmt"
	"strings"
)

// report puts together what was found.
func (x *explorer) report() Report {
	r := Report{Flow: x.flows[0].Name, Nodes: len(x.nodes), Transitions: x.tried, Complete: !x.full}
	x.quiet = true
	for p := range properties {
		proof := Proof{Name: p.sentence(), OK: x.found[p] == nil && (!x.full || p == wordingExists)}
		switch {
		case x.found[p] != nil:
			proof.Counter = x.tell(x.found[p])
		case x.full && p != wordingExists:
			proof.Counter = []string{fmt.Sprintf("not proved: gave up after %d abstract states", len(x.nodes))}
		}
		if p == wordingExists && x.wordless {
			proof.Skipped = "no wordings were given to look in"
		}
		r.Proofs = append(r.Proofs, proof)
	}
	return r
}

// tell writes a counter-example, one step a line.
func (x *explorer) tell(r *refutation) []string {
	var path []int32
	for n := r.from; n >= 0; n = x.parents[n] {
		path = append([]int32{n}, path...)
	}
	var lines []string
	for i, n := range path {
		if i == 0 {
			lines = append(lines, "begins in "+x.tellPlace(&x.nodes[n]))
			continue
		}
		lines = append(lines, x.tellStep(path[i-1], n))
	}
	if r.from >= 0 && (r.how.kind != ownerSays || r.how.name != "") {
		lines = append(lines, x.tellTrigger(r.how, &x.nodes[r.from]))
	}
	return append(lines, "so "+r.what)
}

// tellStep finds the edge between two nodes again and puts it in words.
func (x *explorer) tellStep(from, to int32) string {
	line := ""
	x.expand(x.nodes[from], func(e edge) {
		if line == "" && e.to == x.nodes[to] {
			line = x.tellTrigger(e.trigger, &x.nodes[from])
		}
	})
	return line + ": " + x.tellPlace(&x.nodes[to])
}

func (x *explorer) tellPlace(m *memory) string {
	p := x.placeOf(m)
	tub := x.tubAt(p)
	where := fmt.Sprintf("%q", p.state.Name)
	if p.flow > 0 {
		where = fmt.Sprintf("%q of %s (called from %q)", p.state.Name, x.flows[p.flow].Name, p.under.Name)
	}
	return fmt.Sprintf("%s [power %s, water %s, filters %s, product %s]", where, tub.Power, tub.Water, tub.Filters, tub.Product)
}

func (x *explorer) tellTrigger(t trigger, before *memory) string {
	switch t.kind {
	case ownerMeasures:
		return "the owner sends readings (" + x.tellHeard(&t.heard, before) + ")"
	case ownerTellsVolume:
		return "the owner tells a volume"
	case ownerGoesBack:
		return "the owner goes back"
	case timerDue:
		return fmt.Sprintf("the timer %q is due", t.name)
	case callersTimerDue:
		return fmt.Sprintf("the interrupted service's timer %q is due", t.name)
	case readingsStale:
		return "time passes, readings no longer count"
	case handedBack:
		return "a person takes over and hands back"
	}
	return fmt.Sprintf("the owner says %q", t.name)
}

// tellHeard lists what readings showed, as far as anything depends on it.
func (x *explorer) tellHeard(heard, before *memory) string {
	live := x.liveAt(before).heard & x.measuredBits
	var parts []string
	for i := range x.slots {
		s := &x.slots[i]
		if live&slotBit(i) == 0 {
			continue
		}
		text := s.name + " " + s.shows(heard.slots[i])
		if value := heard.slots[i]; s.points != nil && value > 0 && len(s.points) > 1 {
			text = fmt.Sprintf("%s such as %g", s.name, s.points[value-1])
		}
		parts = append(parts, text)
	}
	if len(parts) == 0 {
		return "of any kind"
	}
	return strings.Join(parts, ", ")
}
