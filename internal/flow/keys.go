package flow

import "slices"

// WordingKeys lists the wordings that a flow needs, each once, sorted: its states'
// texts and cautions, and what its transitions and timers say.
func (f *Flow) WordingKeys() []string {
	var keys []string
	for _, s := range f.States {
		if key := s.WordingKey(); key != "" {
			keys = append(keys, key)
		}
		if s.Caution != "" {
			keys = append(keys, "cautions."+s.Caution)
		}
	}
	f.visit(func(_ *State, t *Transition, _ *place) {
		if t.Say != "" {
			keys = append(keys, t.Say)
		}
	})
	slices.Sort(keys)
	return slices.Compact(keys)
}

// WordingKey is the key of what a state says on entry: its Say, or else its name; ""
// where it says nothing.
func (s *State) WordingKey() string {
	switch s.Say {
	case "":
		return s.Name
	case nothing:
		return ""
	}
	return s.Say
}

// running tells whether the tub can run as it stands: power on, water full, filters in.
// Where a trouble's tub is "same" nobody knows.
func (t Tub) running() (yes string, known bool) {
	if t.Power == same || t.Water == same || t.Filters == same {
		return "", false
	}
	if t.Power == "on" && t.Water == "full" && t.Filters == "in" {
		return "yes", true
	}
	return "no", true
}

// Over resolves what is "same" in a trouble's state with the state that called it.
func (t Tub) Over(caller Tub) Tub {
	for _, p := range [...]struct {
		own  *string
		from string
	}{{&t.Power, caller.Power}, {&t.Water, caller.Water}, {&t.Filters, caller.Filters}, {&t.Product, caller.Product}} {
		if *p.own == same {
			*p.own = p.from
		}
	}
	return t
}
