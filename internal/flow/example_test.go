package flow_test

import (
	"fmt"
	"strings"
	"testing/fstest"

	"tubhand/internal/flow"
)

// warm is a flow of three states, to read beside the examples.
const warm = `
flow: warm_up
title: Warm the water up
kind: service
start: heating
silence: {nudge: [1h], person: 20h, cause: went_quiet, severity: technician}
states:
  - state: heating
    step: heat
    timers: [{timer: warm, after: heat_time, to: test}]
    tub: {power: on, water: full, filters: in, product: out}
  - state: test
    step: retest
    ask: {readings: [sanitizer, ph, water_temp_f]}
    on:
      - {when: readings, if: {all: [{is: {band: soak}}, {known: water_temp_f}]}, to: get_in}
      - {when: readings, say: test_again}
    tub: {power: on, water: full, filters: in, product: out}
  - state: get_in
    soakable: true
    end: true
    tub: {power: on, water: full, filters: in, product: out}
`

func ExampleParse() {
	_, err := flow.Parse("flows/warm_up.yaml", []byte(strings.Replace(warm, "to: get_in", "to: get_inn", 1)))
	fmt.Println(err)
	// Output:
	// flows/warm_up.yaml:16:86: state "test": unknown target "get_inn"; name a state of this flow (did you mean "get_in"?)
}

func ExampleFlow_Match() {
	f, err := flow.Parse("flows/warm_up.yaml", []byte(warm))
	if err != nil {
		fmt.Println(err)
		return
	}
	test, _ := f.State("test")
	measured := knows{numbers: map[string]float64{"water_temp_f": 101}, facts: map[string]string{"band": "soak"}}
	for _, view := range []flow.View{measured, nobody{}} {
		t, _ := f.Match(test, []string{"readings", "answer"}, view)
		fmt.Printf("to %q, saying %q\n", t.To, t.Say)
	}
	// Output:
	// to "get_in", saying ""
	// to "", saying "test_again"
}

func ExampleCheck() {
	careless := strings.Replace(warm, "{all: [{is: {band: soak}}, {known: water_temp_f}]}", "{is: {band: soak}}", 1)
	set, err := flow.Load(fstest.MapFS{"warm_up.yaml": {Data: []byte(careless)}})
	if err != nil {
		fmt.Println(err)
		return
	}
	report, err := flow.Check(set, "warm_up", nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, proof := range report.Proofs {
		if !proof.OK {
			fmt.Println(strings.Join(proof.Counter, "\n"))
		}
	}
	// Output:
	// begins in "heating" [power on, water full, filters in, product out]
	// the timer "warm" is due: "test" [power on, water full, filters in, product out]
	// the owner sends readings (band soak, water_temp_f unknown)
	// so "get_in" says that they can soak, but the water's temperature was not measured
}

func ExampleMermaid() {
	f, err := flow.Parse("flows/warm_up.yaml", []byte(warm))
	if err != nil {
		fmt.Println(err)
		return
	}
	drawn := flow.Mermaid(f)
	fmt.Println(drawn[strings.Index(drawn, "    [*]"):])
	// Output:
	//     [*] --> s_heating
	//     s_heating --> s_test: after heat time
	//     s_test --> s_get_in: readings if band is soak and water_temp_f is known
	//     s_get_in --> [*]
}
