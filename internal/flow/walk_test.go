package flow

import (
	"maps"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// walker is a second, plain account of what can happen in a service: it walks one way
// at a time with real values and keeps a list of what happened. It shares nothing with
// the exploration but Match, Enter and Due, so that each checks the other.
type walker struct {
	set      *Set
	service  *Flow
	at       *State
	trouble  *Flow
	inner    *State
	numbers  map[string]float64
	facts    map[string]string
	happened []happening
	visited  map[*State]bool
	broken   map[property]bool
}

// happening is an entry in a walker's list: "advised", "added", "read" or "entered".
type happening struct{ what, dose, state string }

func (w *walker) Number(name string) (float64, bool) {
	if name == numberRounds {
		return float64(w.count("added", doseBalance) + w.count("added", doseNeutralizer)), true
	}
	v, ok := w.numbers[name]
	return v, ok
}

func (w *walker) Fact(name string) (string, bool) {
	switch name {
	case factProduct:
		return w.tub().Product, true
	case factRunning:
		return w.tub().running()
	case factFlush:
		switch {
		case w.lastOf(doseFlush) == "added":
			return "in", true
		case w.lastOf(doseFlush) == "advised":
			return "advised", true
		}
		return "no", true
	}
	v, ok := w.facts[name]
	return v, ok
}

func (w *walker) count(what, dose string) int {
	n := 0
	for _, h := range w.happened {
		if h.what == what && h.dose == dose {
			n++
		}
	}
	return n
}

// lastOf tells what last happened to a dose.
func (w *walker) lastOf(dose string) string {
	last := ""
	for _, h := range w.happened {
		if h.dose == dose && h.what != "read" {
			last = h.what
		}
	}
	return last
}

func (w *walker) active() (*Flow, *State) {
	if w.trouble != nil {
		return w.trouble, w.inner
	}
	return w.service, w.at
}

func (w *walker) tub() Tub {
	_, s := w.active()
	return s.Tub.Over(w.at.Tub)
}

func (w *walker) forget() {
	w.facts[factBand], w.facts[factPlan] = bandUnmeasured, "none"
	maps.DeleteFunc(w.numbers, func(name string, _ float64) bool { return name != numberVolume })
}

func (w *walker) apply(t *Transition) {
	maps.Copy(w.facts, t.Set)
	if t.Added != "" {
		w.happened = append(w.happened, happening{"added", t.Added, ""})
		w.forget()
	}
	if t.Call != "" && w.trouble == nil {
		w.trouble, _ = w.set.Flow(t.Call)
		start, _ := w.trouble.State(w.trouble.Start)
		w.inner = start // guards of skips see the trouble's own state
		w.enter(w.trouble.Start)
		return
	}
	if t.To != "" {
		w.enter(t.To)
	}
}

func (w *walker) enter(name string) {
	f, _ := w.active()
	s, passed := f.Enter(name, w)
	for _, skip := range passed {
		maps.Copy(w.facts, skip.Set)
	}
	if w.trouble != nil {
		w.inner = s
	} else {
		w.at = s
	}
	w.visited[s] = true
	w.look(s)
	if s.Dose != "" {
		w.happened = append(w.happened, happening{"advised", s.Dose, f.Name + "/" + s.Name})
		w.forget()
	}
	if s.End && w.trouble != nil {
		w.trouble, w.inner = nil, nil
		if s.Return != "" {
			w.enter(s.Return)
			return
		}
		w.lookAtTub()
	}
}

// look notes what must not be, as plainly as it can be said.
func (w *walker) look(s *State) {
	w.lookAtTub()
	f, _ := w.active()
	if s.Soakable {
		_, warm := w.numbers[numberTemperature]
		w.broken[soakIsFresh] = w.broken[soakIsFresh] || w.facts[factBand] != bandSoak || !warm
	}
	if s.Dose == "" {
		return
	}
	if _, ok := w.numbers[numberVolume]; !ok {
		w.broken[doseNeedsVolume] = true
	}
	for i := len(w.happened) - 1; i >= 0; i-- {
		h := w.happened[i]
		if h.what == "read" && s.Dose != doseFlush {
			return
		}
		if h.dose == s.Dose && (h.what == "added" || h.what == "advised" && h.state != f.Name+"/"+s.Name) {
			w.broken[noDoubleDose] = true
		}
	}
}

func (w *walker) lookAtTub() {
	tub := w.tub()
	if tub.Power == "on" && tub.Water != "full" {
		w.broken[powerNeedsWater] = true
	}
	if w.lastOf(doseFlush) != "added" || tub.Product != "out" {
		return
	}
	if tub.Water == "full" && w.count("drained", doseFlush+" gone") == 0 {
		w.broken[productDrained] = true
	} else if tub.Water != "full" {
		w.happened = append(w.happened, happening{"drained", doseFlush + " gone", ""})
	}
}

// hear offers a signal to the trouble, the service's state, and what is valid always.
func (w *walker) hear(signal string) bool {
	f, s := w.active()
	if t, ok := f.Match(s, []string{signal}, w); ok {
		w.apply(t)
		return true
	}
	if w.trouble == nil {
		return false
	}
	if t, ok := w.service.Match(&State{}, []string{signal}, w); ok && t.Call == "" {
		w.trouble, w.inner = nil, nil
		w.apply(t)
		return true
	}
	return false
}

// step lets one thing happen.
func (w *walker) step(t *rapid.T) {
	_, s := w.active()
	switch rapid.IntRange(0, 7).Draw(t, "what") {
	case 0, 1:
		w.hear(rapid.SampledFrom([]string{"done", "yes"}).Draw(t, "said"))
	case 2:
		w.numbers[numberVolume] = 300
		w.hear(rapid.SampledFrom([]string{"volume", "volume_changed", "thanks"}).Draw(t, "as"))
	case 3, 4:
		w.measure(t, s)
	case 5:
		if !w.hear("undo") && s.Back != "" {
			w.enter(s.Back)
		}
	case 6:
		if w.trouble != nil && len(w.at.Timers) > 0 && rapid.Bool().Draw(t, "caller's timer") {
			w.trouble, w.inner = nil, nil
			s = w.at
		}
		if len(s.Timers) > 0 {
			if tr, ok := s.Timers[0].Due(w); ok {
				w.apply(tr)
			}
		}
	case 7:
		if rapid.Bool().Draw(t, "stale") {
			w.forget()
			return
		}
		w.enter(s.Name) // handed back
	}
}

func (w *walker) measure(t *rapid.T, s *State) {
	w.facts[factBand] = rapid.SampledFrom([]string{bandUnmeasured, bandSoak, bandFix}).Draw(t, "band")
	if rapid.Bool().Draw(t, "with temperature") {
		w.numbers[numberTemperature] = 100
	}
	asked := len(s.Ask.Readings) > 0
	if w.facts[factBand] != bandUnmeasured || asked {
		w.happened = append(w.happened, happening{"read", "", ""})
	}
	if asked || rapid.Bool().Draw(t, "heard") {
		w.hear(signalReadings)
	}
}

// Whatever a walk does wrong, Check must have a counter-example for; and a walk rests
// in no state that Check has not reached.
func TestNoWalkEscapesTheExploration(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		set := randomSet(t)
		service, _ := set.Flow("job")
		x, err := newExplorer(set, service)
		require.NoError(t, err)
		report := x.prove(nil)
		require.True(t, report.Complete)
		for range 12 {
			w := &walker{
				set: set, service: service, numbers: map[string]float64{}, facts: map[string]string{},
				visited: map[*State]bool{}, broken: map[property]bool{},
			}
			w.forget()
			w.at, _ = service.State(service.Start)
			w.enter(service.Start)
			for range 14 {
				if w.trouble == nil && w.at.End {
					break
				}
				w.step(t)
			}
			for p, broken := range w.broken {
				require.False(t, broken && report.Proofs[p].OK, "a walk broke what was proved: %s\n%v", report.Proofs[p].Name, w.happened)
			}
			for s := range w.visited {
				require.True(t, x.seen[0][s] || len(x.seen) > 1 && x.seen[1][s], "%s was reached", s.Name)
			}
		}
	})
}
