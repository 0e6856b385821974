package flow_test

import (
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"tubhand/internal/flow"
)

// jobHead begins a small flow; a state "there" is at its end, and each case says
// whether anything can lead there.
const (
	jobHead = `
flow: job
title: A job
kind: service
start: a
facts: {wet: [yes, no]}
silence: {person: 1h, cause: quiet, severity: technician}
`
	there = `
  - state: there
    end: true
    tub: {power: on, water: full, filters: in, product: out}
`
	botherHead = `
flow: bother
title: A bother
kind: trouble
start: x
facts: {wet: [yes, no]}
silence: {person: 1h, cause: quiet, severity: technician}
`
)

// event is one thing that can happen, or can't, put so that it alone leads there.
type event struct {
	name    string
	head    string // more keys of the flow
	states  string // TUB stands for an ordinary tub
	bother  string // states of a called trouble
	reached bool
}

func ownersEvents() []event {
	return []event{
		{name: "says what a state waits for", states: `
  - {state: a, on: [{when: done, to: there}], TUB}`, reached: true},
		{name: "says what is valid in every state", head: "always: [{when: leak, to: there}]", states: `
  - {state: a, TUB}`, reached: true},
		{name: "the state's own comes before", head: "always: [{when: leak, to: there}]", states: `
  - {state: a, on: [{when: leak, say: dry_it}], TUB}`, reached: false},
		{name: "sends readings unasked", states: `
  - {state: a, on: [{when: done, if: {is: {band: fix}}, to: there}], TUB}`, reached: true},
		{name: "readings are heard unasked", states: `
  - {state: a, on: [{when: readings, to: there}], TUB}`, reached: true},
		{name: "a plan can be in incomplete readings", states: `
  - {state: a, on: [{when: readings, if: {is: {band: unmeasured, plan: add}}, to: there}], TUB}`, reached: true},
		{name: "tells another volume", states: `
  - {state: a, on: [{when: volume_changed, to: there}], TUB}`, reached: true},
		{name: "tells a large volume", states: `
  - {state: a, on: [{when: done, if: {above: {volume_gal: 2000}}, to: there}], TUB}`, reached: true},
		{name: "goes back", states: `
  - {state: a, back: there, TUB}`, reached: true},
		{name: "can't go back where undo says something else", states: `
  - {state: a, on: [{when: undo, say: too_late}], back: there, TUB}`, reached: false},
		{name: "remembers an answer", states: `
  - {state: a, on: [{when: yes, set: {wet: yes}}, {when: done, if: {is: {wet: yes}}, to: there}], TUB}`, reached: true},
		{name: "an answer never given decides nothing", states: `
  - {state: a, on: [{when: done, if: {not: {is: {wet: yes}}}, to: there}], TUB}`, reached: false},
		{name: "a tub's sanitizer may be known from before", states: `
  - {state: a, skip: [{if: {known: sanitizer}, to: there}], TUB}`, reached: true},
		{name: "or not", states: `
  - {state: a, skip: [{if: {known: sanitizer}, to: b}], on: [{when: done, to: there}], TUB}
  - {state: b, end: true, TUB}`, reached: true},
		{name: "readings count on the next entry", states: `
  - {state: a, skip: [{if: {known: ph}, to: there}], back: a, on: [{when: done, to: b}], TUB}
  - {state: b, end: true, TUB}`, reached: true},
	}
}

func numbersEvents() []event {
	guarded := func(guard string) string {
		return "\n  - {state: a, on: [{when: done, if: " + guard + ", to: there}], TUB}"
	}
	return []event{
		{name: "a number between two limits", states: guarded("{all: [{above: {ph: 7.2}}, {below: {ph: 7.4}}]}"), reached: true},
		{name: "exactly a limit", states: guarded("{all: [{at_least: {ph: 7.4}}, {at_most: {ph: 7.4}}]}"), reached: true},
		{name: "no number is two things", states: guarded("{all: [{above: {ph: 7.4}}, {below: {ph: 7.2}}]}"), reached: false},
		{name: "no number is more than itself", states: guarded("{all: [{above: {ph: 7.4}}, {at_most: {ph: 7.4}}]}"), reached: false},
		{name: "two numbers are free of each other", states: guarded("{all: [{above: {ph: 7.4}}, {below: {tds_ppm: 500}}]}"), reached: true},
		{name: "one known, one not", states: guarded("{all: [{known: ph}, {not: {known: tds_ppm}}]}"), reached: true},
		{name: "not measured, but more than", states: guarded("{all: [{not: {known: ph}}, {above: {ph: 7}}]}"), reached: false},
		{name: "rounds are counted", states: `
  - {state: a, dose: balance, on: [{when: done, added: balance, to: b}], TUB}
  - {state: b, ask: {readings: [ph]}, on: [{when: readings, if: {at_least: {rounds: 3}}, to: there}, {when: readings, to: a}], TUB}`, reached: true},
		{name: "no round without a dose", states: guarded("{at_least: {rounds: 1}}"), reached: false},
		{name: "a band is one band", states: guarded("{all: [{is: {band: soak}}, {is: {band: fix}}]}"), reached: false},
		{name: "any of two", states: guarded("{any: [{is: {wet: yes}}, {is: {band: person}}]}"), reached: true},
	}
}

func timesEvents() []event {
	return []event{
		{name: "a wait is over", states: `
  - {state: a, timers: [{timer: t, after: 1h, to: there}], TUB}`, reached: true},
		{name: "a wait's guard is not passed", states: `
  - {state: a, timers: [{timer: t, after: 1h, if: {is: {wet: yes}}, to: there}], TUB}`, reached: false},
		{name: "readings go stale", states: `
  - {state: a, ask: {readings: [ph]}, on: [{when: readings, if: {is: {band: soak}}, to: b}], TUB}
  - {state: b, on: [{when: done, if: {is: {band: unmeasured}}, to: there}], TUB}`, reached: true},
		{name: "a person hands back, and the state is entered anew", states: `
  - {state: a, skip: [{if: {is: {wet: yes}}, to: there}], on: [{when: yes, set: {wet: yes}}], TUB}`, reached: true},
		{name: "product goes in", states: `
  - {state: a, on: [{when: done, added: flush_product, to: b}], TUB}
  - {state: b, on: [{when: done, if: {is: {flush_product: in, product: in}}, to: c}], tub: {power: on, water: full, filters: in, product: in}}
  - {state: c, on: [{when: done, to: d}], tub: {power: off, water: empty, filters: in, product: out}}
  - {state: d, on: [{when: done, if: {is: {flush_product: in, product: out}}, to: there}], TUB}`, reached: true},
		{name: "it stays in the books when it has gone", states: `
  - {state: a, on: [{when: done, added: flush_product, to: b}], tub: {power: off, water: empty, filters: in, product: out}}
  - {state: b, on: [{when: done, if: {not: {is: {flush_product: in}}}, to: there}], TUB}`, reached: false},
	}
}

func troublesEvents() []event {
	const calling = `
  - {state: a, on: [{when: airlock, call: bother}], timers: [{timer: t, after: 1h, to: b}], TUB}
  - {state: b, on: [{when: done, if: {is: {wet: yes}}, to: there}], TUB}`
	return []event{
		{name: "a trouble leaves facts behind", states: calling, bother: `
  - {state: x, on: [{when: yes, set: {wet: yes}, to: y}], SAME}
  - {state: y, end: true, SAME}`, reached: true},
		{name: "the interrupted wait goes on, also out of a trouble that never ends", states: calling, bother: `
  - {state: x, on: [{when: yes, set: {wet: yes}}], SAME}`, reached: true},
		{name: "a trouble that sets nothing", states: calling, bother: `
  - {state: x, on: [{when: done, to: y}], SAME}
  - {state: y, end: true, SAME}`, reached: false},
		{name: "a trouble returns elsewhere", states: `
  - {state: a, on: [{when: airlock, call: bother}], TUB}`, bother: `
  - {state: x, on: [{when: done, to: y}], SAME}
  - {state: y, end: true, return: there, SAME}`, reached: true},
		{name: "what the trouble does not hear, the service does", head: "always: [{when: leak, to: there}]", states: `
  - {state: a, on: [{when: airlock, call: bother}, {when: leak, say: dry_it}], TUB}`, bother: `
  - {state: x, on: [{when: done, say: good}], SAME}`, reached: true},
		{name: "but not what the trouble hears itself", head: "always: [{when: leak, to: there}]", states: `
  - {state: a, on: [{when: airlock, call: bother}, {when: leak, say: dry_it}], TUB}`, bother: `
  - {state: x, on: [{when: leak, say: good}], SAME}`, reached: false},
		{name: "nor what only the interrupted state hears", states: `
  - {state: a, on: [{when: airlock, call: bother}, {when: leak, if: {is: {wet: yes}}, to: there}], TUB}`, bother: `
  - {state: x, on: [{when: yes, set: {wet: yes}}], SAME}`, reached: false},
	}
}

// Each thing that can happen leads there; what can't happen does not.
func TestWhatCanHappen(t *testing.T) {
	replace := strings.NewReplacer("TUB", "tub: {power: on, water: full, filters: in, product: out}",
		"SAME", "tub: {power: same, water: same, filters: same, product: same}")
	for _, list := range [][]event{ownersEvents(), numbersEvents(), timesEvents(), troublesEvents()} {
		for _, e := range list {
			t.Run(e.name, func(t *testing.T) {
				files := fstest.MapFS{"job.yaml": {Data: []byte(replace.Replace(jobHead + e.head + "\nstates:" + e.states + there))}}
				if e.bother != "" {
					files["bother.yaml"] = &fstest.MapFile{Data: []byte(replace.Replace(botherHead + "states:" + e.bother + "\n"))}
				}
				set, err := flow.Load(files)
				require.NoError(t, err)
				missing := strings.Join(failures(check(t, set, "job"))[reached], "\n")
				require.Equal(t, e.reached, !strings.Contains(missing, "there"), missing)
			})
		}
	}
}
