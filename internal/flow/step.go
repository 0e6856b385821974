package flow

// State finds a state by its name.
func (f *Flow) State(name string) (*State, bool) {
	s, ok := f.byName[name]
	return s, ok
}

// SilenceOf gives what happens when the owner says nothing in a state: the state's own
// rule, else the flow's, else nil.
func (f *Flow) SilenceOf(s *State) *Silence {
	if s.Silence != nil {
		return s.Silence
	}
	return f.Silence
}

// Match finds the transition that a message or event takes: for each signal in order,
// the state's own transitions in order and then the flow's Always; the first whose
// When is the signal and whose guard is True. A guard that is Unknown is not passed.
// Callers give what was measured or told first ("readings", "volume_changed",
// "volume"), then the intent, so that a text with both is not taken for its pleasantry.
func (f *Flow) Match(s *State, signals []string, v View) (*Transition, bool) {
	for _, signal := range signals {
		if t, ok := match(s.On, signal, v); ok {
			return t, true
		}
		if t, ok := match(f.Always, signal, v); ok {
			return t, true
		}
	}
	return nil, false
}

func match(transitions []Transition, signal string, v View) (*Transition, bool) {
	for i := range transitions {
		t := &transitions[i]
		if t.When == signal && t.If.Eval(v) == True {
			return t, true
		}
	}
	return nil, false
}

// Due tells what a timer does when it is due: its transition, or false where its guard
// is not True.
func (t *Timer) Due(v View) (*Transition, bool) {
	return &t.Transition, t.If.Eval(v) == True
}

// Enter goes to a state and follows its skips: it gives the state where the entry
// comes to rest and the skips passed on the way, whose facts and wordings apply in that
// order. Facts that a skip sets are seen by the guards after it. It
// gives nil where the flow has no state of that name.
func (f *Flow) Enter(name string, v View) (state *State, passed []*Transition) {
	state = f.byName[name]
	for range f.States { // Parse refuses circles of skips; this bounds a flow made by hand
		if state == nil {
			return nil, passed
		}
		skip := state.skip(v)
		if skip == nil {
			return state, passed
		}
		passed = append(passed, skip)
		if len(skip.Set) > 0 {
			v = learned{View: v, facts: skip.Set}
		}
		state = f.byName[skip.To]
	}
	return state, passed
}

// skip is the first of a state's skips whose guard is True, or nil.
func (s *State) skip(v View) *Transition {
	for i := range s.Skip {
		if s.Skip[i].If.Eval(v) == True {
			return &s.Skip[i]
		}
	}
	return nil
}

// learned is a view with facts that a skip has just set.
type learned struct {
	View
	facts map[string]string
}

// Fact gives the fact just set, or what the view knew before.
func (l learned) Fact(name string) (string, bool) {
	if value, ok := l.facts[name]; ok {
		return value, true
	}
	return l.View.Fact(name)
}
