package flow

import (
	"fmt"
	"maps"
	"slices"
)

// visit calls do for every transition of a flow with its state (nil for those of
// Always) and its place.
func (f *Flow) visit(do func(s *State, t *Transition, at *place)) {
	for i := range f.Always {
		do(nil, &f.Always[i], f.at.key("always").item(i))
	}
	for i, s := range f.States {
		at := f.at.key("states").item(i)
		for j := range s.Skip {
			do(s, &s.Skip[j], at.key("skip").item(j))
		}
		for j := range s.On {
			do(s, &s.On[j], at.key("on").item(j))
		}
		for j := range s.Timers {
			do(s, &s.Timers[j].Transition, at.key("timers").item(j))
		}
	}
}

// calls lists the troubles that a flow calls, sorted.
func (f *Flow) calls() []string {
	found := map[string]bool{}
	f.visit(func(_ *State, t *Transition, _ *place) {
		if t.Call != "" {
			found[t.Call] = true
		}
	})
	return slices.Sorted(maps.Keys(found))
}

// stamps lists the moments that a flow names.
func (f *Flow) stamps() map[string]bool {
	found := map[string]bool{}
	f.visit(func(_ *State, t *Transition, _ *place) {
		if t.Stamp != "" {
			found[t.Stamp] = true
		}
	})
	return found
}

// together checks what flows need from each other.
func (s *Set) together() []error {
	var problems []error
	for _, name := range s.Names() {
		c := &checker{flow: s.flows[name]}
		s.calledTroubles(c)
		s.returns(c)
		s.stampsThere(c)
		s.sharedFacts(c)
		problems = append(problems, c.problems...)
	}
	return problems
}

func (c *checker) at(state *State) {
	c.where = ""
	if state != nil {
		c.where = fmt.Sprintf("state %q", state.Name)
	}
}

// calledTroubles checks that called flows exist and are troubles.
func (s *Set) calledTroubles(c *checker) {
	var troubles []string
	for _, name := range s.Names() {
		if s.flows[name].Kind == TroubleKind {
			troubles = append(troubles, name)
		}
	}
	c.flow.visit(func(state *State, t *Transition, at *place) {
		if t.Call == "" || slices.Contains(troubles, t.Call) {
			return
		}
		c.at(state)
		c.problem(at.key("call"), "name a flow of kind trouble"+closest(t.Call, troubles), "unknown trouble %q", t.Call)
	})
}

// returns checks that every caller of a trouble has the states that it returns to.
func (s *Set) returns(c *checker) {
	for i, state := range c.flow.States {
		if state.Return == "" {
			continue
		}
		for _, caller := range s.callers(c.flow.Name) {
			if _, ok := caller.byName[state.Return]; !ok {
				c.at(state)
				c.problem(c.flow.at.key("states").item(i).key("return"), "name a state that every caller has",
					"returns to %q, which its caller %s does not have", state.Return, caller.Name)
			}
		}
	}
}

// stampsThere checks that timers count from moments that something names: a transition
// of the flow, of a trouble it calls, or of every flow that calls it.
func (s *Set) stampsThere(c *checker) {
	known := c.flow.stamps()
	for _, name := range c.flow.calls() {
		if trouble, ok := s.flows[name]; ok {
			maps.Copy(known, trouble.stamps())
		}
	}
	for i, caller := range s.callers(c.flow.Name) {
		theirs := caller.stamps()
		if i == 0 {
			maps.Copy(known, theirs)
		}
		maps.DeleteFunc(known, func(stamp string, _ bool) bool { return !theirs[stamp] && !c.flow.stamps()[stamp] })
	}
	for i, state := range c.flow.States {
		for j := range state.Timers {
			if from := state.Timers[j].From; from != "" && !known[from] {
				c.at(state)
				c.problem(c.flow.at.key("states").item(i).key("timers").item(j).key("from"),
					"add stamp: "+from+" to a transition"+closest(from, slices.Sorted(maps.Keys(known))), "nothing stamps %q", from)
			}
		}
	}
}

// sharedFacts checks that a fact that a trouble shares with its caller has the same values.
func (s *Set) sharedFacts(c *checker) {
	c.where = ""
	for _, caller := range s.callers(c.flow.Name) {
		for _, name := range slices.Sorted(maps.Keys(c.flow.Facts)) {
			theirs, shared := caller.Facts[name]
			if shared && !slices.Equal(theirs, c.flow.Facts[name]) {
				c.problem(c.flow.at.key("facts").key(name), "list the same values, or name it differently",
					"fact %q has other values in its caller %s", name, caller.Name)
			}
		}
	}
}
