package flow

import (
	"maps"
	"slices"
	"time"
)

// signals lists what `when` can name in a state; nil stands for Always, which knows no
// state's choices.
func (f *Flow) signals(s *State) []string {
	if s == nil {
		return Signals()
	}
	return append(Signals(), s.Ask.Choice...)
}

// transition checks one that has a signal.
func (c *checker) transition(t *Transition, at *place, signals []string) {
	switch {
	case t.When == "":
		c.problem(at, "add when: and a signal", "a transition without `when`")
	case !slices.Contains(signals, t.When):
		c.problem(at.key("when"), "name an intent, a choice of this state, or "+
			oneOf([]string{signalReadings, signalVolume, signalVolumeChanged, "unknown"}), "unknown signal %q", t.When)
	}
	c.effects(t, at)
}

// effects checks everything of a transition but its signal.
func (c *checker) effects(t *Transition, at *place) {
	if t.If != nil {
		c.guard(t.If, at.key("if"), 0)
	}
	c.set(t.Set, at.key("set"))
	if at.has("say") && !isWording(t.Say) {
		c.problem(at.key("say"), wordingRule, "a wording named %q", t.Say)
	}
	for _, key := range []struct{ name, text string }{{"stamp", t.Stamp}, {"call", t.Call}} {
		if at.has(key.name) && !isName(key.text) {
			c.problem(at.key(key.name), nameRule, "a name written %q", key.text)
		}
	}
	if at.has("added") && !slices.Contains(Doses(), t.Added) {
		c.problem(at.key("added"), "write "+oneOf(Doses()), "unknown dose %q", t.Added)
	}
	if t.HandOver != nil {
		c.cause(t.HandOver.Cause, t.HandOver.Severity, at.key("hand_over"))
	}
	if at.has("to") {
		c.target(t.To, at.key("to"))
	}
	if !at.has("call") {
		return
	}
	if at.has("to") {
		c.problem(at.key("to"), "leave one out; a trouble returns to where it was called, or says where to by `return`", "calls and goes on at once")
	}
	if t.HandOver != nil && t.HandOver.Hold {
		c.problem(at.key("hand_over"), "leave one out; the trouble can hand over itself", "calls a trouble and holds the service")
	}
	if c.flow.Kind == TroubleKind {
		c.problem(at.key("call"), "return first; troubles do not nest", "a trouble calls another")
	}
}

func (c *checker) set(set map[string]string, at *place) {
	for _, name := range slices.Sorted(maps.Keys(set)) {
		if _, builtIn := builtInFacts()[name]; builtIn && name != factSanitizer {
			c.problem(at.name(name), "take it out; it follows from readings, doses and states", "the fact %q can't be set", name)
			continue
		}
		c.fact(name, set[name], at)
	}
}

// fact checks a fact and its value where one is set or compared.
func (c *checker) fact(name, value string, at *place) {
	values, ok := c.flow.factValues(name)
	if !ok {
		c.problem(at.name(name), "declare it under facts"+closest(name, slices.Sorted(maps.Keys(c.flow.Facts))), "unknown fact %q", name)
		return
	}
	if !slices.Contains(values, value) {
		c.problem(at.key(name), "write "+oneOf(values), "fact %q can't be %q", name, value)
	}
}

// target checks the name of a state.
func (c *checker) target(name string, at *place) {
	if _, ok := c.flow.byName[name]; !ok {
		c.problem(at, "name a state of this flow"+c.meant(name), "unknown target %q", name)
	}
}

// meant proposes the state that was probably meant.
func (c *checker) meant(name string) string {
	return closest(name, slices.Sorted(maps.Keys(c.flow.byName)))
}

// shadowed notes transitions that can never be taken, because an earlier one for the
// same signal has no guard.
func (c *checker) shadowed(list []Transition, at *place) {
	taken := map[string]bool{}
	for i := range list {
		if taken[list[i].When] {
			c.problem(at.item(i), "move it up, or give the earlier one a guard", "never taken: an earlier %q has no guard", list[i].When)
		}
		taken[list[i].When] = taken[list[i].When] || list[i].If == nil
	}
}

// Fixed is the time a timer waits where its file gives one; false where it waits for
// a worked-out time (see ComputedTimes).
func (t *Timer) Fixed() (time.Duration, bool) {
	fixed, err := time.ParseDuration(t.After)
	return fixed, err == nil
}

func (c *checker) timers(s *State, at *place) {
	names := map[string]bool{}
	for i := range s.Timers {
		timer, here := &s.Timers[i], at.item(i)
		if !isName(timer.Name) || names[timer.Name] {
			c.problem(here.key("timer"), nameRule+"; each once in a state", "a timer named %q", timer.Name)
		}
		names[timer.Name] = true
		if here.has("when") {
			c.problem(here.key("when"), "take it out; the timer is the signal", "a timer with `when`")
		}
		if fixed, ok := timer.Fixed(); ok {
			c.duration(Duration(fixed), here.key("after"))
		} else if !slices.Contains(ComputedTimes(), timer.After) {
			c.problem(here.key("after"), "write a time like 30m, or "+oneOf(ComputedTimes()), "unknown time %q", timer.After)
		}
		if here.has("from") && !isName(timer.From) {
			c.problem(here.key("from"), nameRule, "a stamp named %q", timer.From)
		}
		c.effects(&timer.Transition, here)
	}
}
