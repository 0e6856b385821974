package flow

import (
	"errors"
	"fmt"
	"maps"
	"slices"
)

// ErrUnknownFlow is returned for a flow that a set does not have.
var ErrUnknownFlow = errors.New("no such flow")

// explorer holds one exploration: the service and the troubles it calls (flows[0] is
// the one under check), what is remembered, and what was found.
type explorer struct {
	flows   []*Flow
	numbers []map[string]uint8 // per flow: state name -> index
	alone   bool               // a trouble by itself
	flush   int                // the flush product's index in memory.dose

	slots        []slot
	slotOf       map[string]int
	doses        []string                // Doses
	doseAt       map[*State]uint8        // the number of each state that advises a dose
	live         [stages][][]liveness    // per stage of the flush product, flow and state: what is still asked about
	measuredBits bits                    // the slots that readings fill
	always       []*State                // per flow: an empty state, to match Always alone
	heard        map[*State][]string     // the signals a state or its flow listens to
	shared       map[string]bool         // alone: facts that callers may have set
	keepAll      bool                    // tests: forget nothing, to see that forgetting changes no verdict
	wordless     bool                    // wordings were not looked at
	search                               // what was reached
	found        [properties]*refutation // how a property fails, first seen
	seen         []map[*State]bool       // per flow: states that something rested in
}

func newExplorer(set *Set, f *Flow) (*explorer, error) {
	x := &explorer{
		flows: []*Flow{f}, alone: f.Kind == TroubleKind, doses: Doses(), flush: slices.Index(Doses(), doseFlush),
		slotOf: map[string]int{}, doseAt: map[*State]uint8{}, search: search{most: mostNodes}, heard: map[*State][]string{}, shared: map[string]bool{},
	}
	for _, name := range f.calls() {
		if trouble, ok := set.Flow(name); ok && !x.alone {
			x.flows = append(x.flows, trouble)
		}
	}
	for _, caller := range set.callers(f.Name) {
		for name := range caller.Facts {
			x.shared[name] = true
		}
	}
	for i, flow := range x.flows {
		x.numbers = append(x.numbers, map[string]uint8{})
		x.always = append(x.always, &State{})
		x.seen = append(x.seen, map[*State]bool{})
		for j, s := range flow.States {
			x.numbers[i][s.Name] = uint8(j)
			x.heard[s] = x.listens(flow, s)
			if s.Dose != "" {
				x.doseAt[s] = uint8(len(x.doseAt) + 1)
			}
		}
	}
	if err := x.layOut(); err != nil {
		return nil, err
	}
	x.findLive()
	return x, nil
}

// listens lists the signals that something is done about in a state, sorted.
func (x *explorer) listens(f *Flow, s *State) []string {
	signals := map[string]bool{}
	for _, list := range [][]Transition{s.On, f.Always, x.flows[0].Always} {
		for i := range list {
			signals[list[i].When] = true
		}
	}
	return slices.Sorted(maps.Keys(signals))
}

// layOut decides what is remembered: the band, the plan, the volume and the water's
// temperature always, other facts and numbers where a guard asks about them.
func (x *explorer) layOut() error {
	asked := asked{numbers: map[string]map[float64]bool{numberVolume: {}, numberTemperature: {}}, facts: map[string]bool{}}
	values := builtInFacts()
	for _, f := range x.flows {
		maps.Copy(values, f.Facts)
		f.visit(func(_ *State, t *Transition, _ *place) { asked.add(t.If) })
	}
	x.slots = []slot{
		{name: factBand, values: values[factBand]}, {name: factPlan, values: values[factPlan]},
		{name: numberVolume, points: points(asked.numbers[numberVolume])},
		{name: numberTemperature, points: points(asked.numbers[numberTemperature])},
	}
	for _, name := range slices.Sorted(maps.Keys(asked.numbers)) {
		switch limits := asked.numbers[name]; name {
		case numberVolume, numberTemperature:
		case numberRounds:
			x.slots = append(x.slots, slot{name: name, points: counts0(limits)})
		default:
			x.slots = append(x.slots, slot{name: name, points: points(limits)})
		}
	}
	for _, name := range slices.Sorted(maps.Keys(asked.facts)) {
		switch name {
		case factBand, factPlan, factProduct, factFlush, factRunning:
		default:
			x.slots = append(x.slots, slot{name: name, values: values[name]})
		}
	}
	if len(x.slots) > mostSlots {
		return fmt.Errorf("guards ask about %d facts and numbers, the most is %d: %w", len(x.slots), mostSlots, errors.ErrUnsupported)
	}
	for i := range x.slots {
		x.slotOf[x.slots[i].name] = i
		if x.slots[i].measured() {
			x.measuredBits |= slotBit(i)
		}
	}
	return nil
}

// asked collects what guards ask about: facts, and numbers with what they are compared to.
type asked struct {
	numbers map[string]map[float64]bool
	facts   map[string]bool
}

func (a *asked) add(g *Guard) {
	if g == nil {
		return
	}
	for i := range g.All {
		a.add(&g.All[i])
	}
	for i := range g.Any {
		a.add(&g.Any[i])
	}
	a.add(g.Not)
	for name := range g.Is {
		a.facts[name] = true
	}
	switch {
	case g.Known == "":
	case isNumber(g.Known):
		a.number(g.Known)
	default:
		a.facts[g.Known] = true
	}
	for _, c := range g.comparisons() {
		for name, limit := range c.against {
			a.number(name)[limit] = true
		}
	}
}

func (a *asked) number(name string) map[float64]bool {
	if a.numbers[name] == nil {
		a.numbers[name] = map[float64]bool{}
	}
	return a.numbers[name]
}

// points gives one value for each region that limits divide the numbers into: below,
// at, between and above them.
func points(limits map[float64]bool) []float64 {
	sorted := slices.Sorted(maps.Keys(limits))
	if len(sorted) == 0 {
		return []float64{1}
	}
	found := []float64{sorted[0] - 1}
	for i, limit := range sorted {
		found = append(found, limit)
		if i+1 < len(sorted) {
			found = append(found, limit+(sorted[i+1]-limit)/2)
		}
	}
	return append(found, sorted[len(sorted)-1]+1)
}

// counts0 gives the values of a count from 0 to just past its highest limit, where it
// is kept from growing: no guard can tell higher ones apart.
func counts0(limits map[float64]bool) []float64 {
	highest := 0
	for limit := range limits {
		highest = max(highest, int(limit)+1)
	}
	found := make([]float64, min(highest, 250))
	for i := range found {
		found[i] = float64(i + 1)
	}
	return found
}
