package flow

import (
	"fmt"
	"slices"
	"strings"
)

func (c *checker) state(s *State, at *place) {
	for _, key := range []struct{ name, text string }{{"say", s.Say}, {"caution", s.Caution}} {
		if at.has(key.name) && !isWording(key.text) {
			c.problem(at.key(key.name), wordingRule, "a wording named %q", key.text)
		}
	}
	if at.has("step") && !slices.Contains(Steps(), s.Step) {
		c.problem(at.key("step"), "write "+oneOf(Steps()), "unknown step %q", s.Step)
	}
	if at.has("dose") && !slices.Contains(Doses(), s.Dose) {
		c.problem(at.key("dose"), "write "+oneOf(Doses()), "unknown dose %q", s.Dose)
	}
	if at.has("back") {
		c.target(s.Back, at.key("back"))
	}
	if s.Clarity && !s.Ask.YesNo {
		c.problem(at.key("clarity"), "let it ask yes_no: yes is clear, no is cloudy", "a look at the water that asks no yes or no")
	}
	c.tub(s.Tub, at.key("tub"), at)
	c.ask(s.Ask, at.key("ask"))
	c.skips(s, at.key("skip"))
	for i := range s.On {
		c.transition(&s.On[i], at.key("on").item(i), c.flow.signals(s))
	}
	c.shadowed(s.On, at.key("on"))
	c.timers(s, at.key("timers"))
	if s.Silence != nil {
		c.silence(s.Silence, at.key("silence"))
	}
	c.end(s, at)
}

// end checks what only ends may have, and what they may not.
func (c *checker) end(s *State, at *place) {
	if at.has("return") {
		switch {
		case !s.End || c.flow.Kind != TroubleKind:
			c.problem(at.key("return"), "only the end of a trouble returns; use `to` or `back`", "returns, but is no trouble's end")
		case !isName(s.Return):
			c.problem(at.key("return"), "name a state of the flows that call this one", "returns to %q", s.Return)
		}
	}
	if !s.End {
		return
	}
	for _, key := range []string{"ask", "timers", "on", "silence", "back", "dose", "skip", "brief"} {
		if at.has(key) {
			c.problem(at.key(key), "take it out, or make it an ordinary state before the end", "an end state with `%s`", key)
		}
	}
}

// tub checks the physical state; every state must say all of it.
func (c *checker) tub(t Tub, at, state *place) {
	if !state.has("tub") {
		c.problem(state, "add tub: {power: ..., water: ..., filters: ..., product: ...}", "does not say the tub's physical state")
		return
	}
	for _, part := range []struct {
		key, value string
		allowed    []string
	}{
		{"power", t.Power, []string{"on", "off"}},
		{"water", t.Water, []string{"full", "falling", "below_jets", "empty", "rising"}},
		{"filters", t.Filters, []string{"in", "in_water", "out"}},
		{"product", t.Product, []string{"in", "out"}},
	} {
		switch {
		case part.value == same && c.flow.Kind != TroubleKind:
			c.problem(at.key(part.key), "say it outright; only a trouble has a caller to be the same as", "%s is %q", part.key, same)
		case part.value == same || slices.Contains(part.allowed, part.value):
		case part.value == "":
			c.problem(at, "add "+part.key+": "+oneOf(part.allowed), "does not say the tub's %s", part.key)
		default:
			c.problem(at.key(part.key), "write "+oneOf(part.allowed), "unknown %s %q", part.key, part.value)
		}
	}
}

func (c *checker) ask(a Ask, at *place) {
	fields := 0
	for _, set := range []bool{a.Done, a.YesNo, a.Volume, a.Time, a.Readings != nil, a.Choice != nil} {
		if set {
			fields++
		}
	}
	if fields > 1 {
		c.problem(at, "ask one thing; make two states of two questions", "asks %d things", fields)
	}
	for i, reading := range a.Readings {
		name := strings.TrimSuffix(reading, "?")
		if name != askedSanitizer && !slices.Contains(Quantities(), name) {
			c.problem(at.key("readings").item(i), "write "+askedSanitizer+", "+oneOf(Quantities()), "unknown reading %q", reading)
		}
		if slices.IndexFunc(a.Readings, func(r string) bool { return strings.TrimSuffix(r, "?") == name }) < i {
			c.problem(at.key("readings").item(i), "ask for it once", "asks for %q twice", name)
		}
	}
	if a.Readings != nil && len(a.Readings) == 0 {
		c.problem(at.key("readings"), "list at least one", "asks for no readings")
	}
	c.choices(a.Choice, at.key("choice"))
}

func (c *checker) choices(names []string, at *place) {
	if names != nil && len(names) < 2 {
		c.problem(at, "offer at least two, or ask yes_no", "offers %d choices", len(names))
	}
	for i, name := range names {
		switch {
		case !isName(name) || slices.Index(names, name) < i:
			c.problem(at.item(i), nameRule+"; each once", "a choice named %q", name)
		case slices.Contains(optOutWords(), name):
			c.problem(at.item(i), "use another word; this one ends all texts by law", "the choice %q is an opt-out word", name)
		}
	}
}

func (c *checker) skips(s *State, at *place) {
	for i := range s.Skip {
		skip, here := &s.Skip[i], at.item(i)
		if here.has("when") {
			c.problem(here.key("when"), "take it out; skips are tried on entry", "a skip with `when`")
		}
		if skip.To == "" {
			c.problem(here, "say where it leads: to: state", "a skip that leads nowhere")
		}
		for _, key := range []string{"call", "added", "hand_over", "stamp"} {
			if here.has(key) {
				c.problem(here.key(key), "use an ordinary state and transition for it", "a skip with `%s`", key)
			}
		}
		c.effects(skip, here)
	}
}

// skipLoops refuses states that skip to each other in a circle, whatever their guards
// say: an entry must come to rest.
func (c *checker) skipLoops() {
	for i, state := range c.flow.States {
		if c.reaches(state, state.Name, map[string]bool{}) {
			c.where = fmt.Sprintf("state %q", state.Name)
			c.problem(c.flow.at.key("states").item(i).key("skip"), "break the circle", "skips lead back to it")
		}
	}
	c.where = ""
}

// reaches tells whether skips lead from a state to a name.
func (c *checker) reaches(from *State, name string, seen map[string]bool) bool {
	for i := range from.Skip {
		to := from.Skip[i].To
		if to == name {
			return true
		}
		next, ok := c.flow.byName[to]
		if !ok || seen[to] {
			continue
		}
		seen[to] = true
		if c.reaches(next, name, seen) {
			return true
		}
	}
	return false
}
