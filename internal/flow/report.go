package flow

import "fmt"

// Wording tells whether a wording exists: by the flow it belongs to, or "common", and
// its key.
type Wording func(flow, key string) bool

// Report is what Check found out about one flow.
type Report struct {
	Flow        string
	Nodes       int  // abstract states that can be reached: a state of the flow with all that is remembered
	Transitions int  // ways between them that were tried
	Complete    bool // false: there were too many to explore, and nothing is proved
	Proofs      []Proof
}

// Proof is one property of a flow: proved, refuted by a counter-example, or not looked at.
type Proof struct {
	Name    string   // what must hold, in a sentence
	OK      bool     // it holds for everything that can happen
	Skipped string   // why it was not looked at; OK is true then
	Counter []string // how it fails, step by step from the start; the last line says what is wrong
}

// OK tells whether everything was explored and every property holds.
func (r Report) OK() bool {
	for _, p := range r.Proofs {
		if !p.OK {
			return false
		}
	}
	return r.Complete
}

// property numbers the proofs in the order they are reported.
type property int

const (
	allReached property = iota
	canFinish
	silenceEnds
	powerNeedsWater
	noDoubleDose
	filtersBack
	productDrained
	soakIsFresh
	doseNeedsVolume
	sameResolves
	wordingExists
	properties // how many there are
)

// sentence is what must hold.
func (p property) sentence() string {
	return [properties]string{
		"every state can be reached",
		"an end or a person can be reached from everywhere",
		"silence anywhere ends with a person or an end",
		"power is never on with the water low, but for the brief blow-out",
		"no chemical is advised twice without a reading between, flush product never twice",
		"filters are back before water circulates once the flush product is gone",
		"flush product leaves only with the water",
		"soaking is allowed only on fresh readings, in a whole and warm tub without product",
		"no dose without a known volume",
		"a trouble takes over the tub as its caller left it",
		"every wording exists",
	}[p]
}

// Check explores everything that can happen in a flow and proves what must never, or
// always, be so. A service is explored together with the troubles it calls; a trouble is
// explored by itself, from anything that its callers may have left behind. It gives an
// error when the set has no such flow. Has may be nil: wordings are not looked at then.
//
// The exploration follows the turn code: an owner can say anything at any time, send
// readings or a volume unasked, go back, fall silent; readings go stale; timers run out
// in any order; a person can take the conversation and hand it back where it was (who
// hands it back elsewhere answers for that). Numbers are kept as the intervals that
// guards tell apart, and facts exactly. Not looked at: how long a wait takes, but for
// the brief blow-out, and what is said, but for its being there.
func Check(set *Set, name string, has Wording) (Report, error) {
	f, ok := set.Flow(name)
	if !ok {
		return Report{}, fmt.Errorf("check flow %q: %w", name, ErrUnknownFlow)
	}
	x, err := newExplorer(set, f)
	if err != nil {
		return Report{}, fmt.Errorf("check flow %q: %w", name, err)
	}
	return x.prove(has), nil
}

// prove explores and looks for a counter-example to each property.
func (x *explorer) prove(has Wording) Report {
	x.explore()
	x.proveReached()
	x.proveFinish()
	x.proveSilence()
	x.proveBrief()
	x.proveWording(has)
	return x.report()
}
