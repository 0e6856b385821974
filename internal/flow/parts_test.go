package flow_test

import (
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"tubhand/internal/flow"
)

const partUser = `flow: small
title: Small
kind: service
start: begin
parts: [ending]
silence: {person: 1h, cause: went_quiet, severity: technician}
states:
  - state: begin
    ask: {done: true}
    tub: {power: "on", water: full, filters: in, product: out}
    on: [{when: done, to: middle}]
  - state: own
    end: true
    tub: {power: "on", water: full, filters: in, product: out}
`

const partEnding = `part: ending
facts: {seen: ["yes"]}
always:
  - {when: leak, say: fault}
states:
  - state: middle
    ask: {yes_no: true}
    tub: {power: "on", water: full, filters: in, product: out}
    on:
      - {when: "yes", set: {seen: "yes"}, to: own}
  - state: own
    ask: {done: true}
    tub: {power: "off", water: full, filters: in, product: out}
`

func files(user, ending string) fstest.MapFS {
	return fstest.MapFS{"small.yaml": {Data: []byte(user)}, "parts/ending.yaml": {Data: []byte(ending)}}
}

// TestAFlowTakesItsParts: a part's facts, transitions and states stand in the flow that
// names it, and a state that the flow has itself stays its own.
func TestAFlowTakesItsParts(t *testing.T) {
	set, err := flow.Load(files(partUser, partEnding))
	require.NoError(t, err)
	require.Equal(t, []string{"small"}, set.Names(), "a part is no flow")
	f, _ := set.Flow("small")
	require.Len(t, f.States, 3)
	require.Equal(t, []string{"yes"}, f.Facts["seen"])
	require.Len(t, f.Always, 1)
	own, ok := f.State("own")
	require.True(t, ok)
	require.True(t, own.End)
	middle, ok := f.State("middle")
	require.True(t, ok)
	require.True(t, middle.Ask.YesNo)
}

// TestProblemsOfAPartNameItsFile: whoever mends it looks there, not in the flow.
func TestProblemsOfAPartNameItsFile(t *testing.T) {
	for name, c := range map[string]struct{ user, ending, want string }{
		"unknown target": {partUser, `part: ending
states:
  - state: middle
    ask: {done: true}
    tub: {power: "on", water: full, filters: in, product: out}
    on:
      - {when: done, to: nowhere}
`, `flows/parts/ending.yaml:7:26: state "middle": unknown target "nowhere"`},
		"unknown key":  {partUser, "part: ending\nstart: middle\n", "flows/parts/ending.yaml:2:1"},
		"no such part": {strings.Replace(partUser, "[ending]", "[endings]", 1), partEnding, `flows/small.yaml:5:9: no part "endings"`},
		"odd name":     {strings.Replace(partUser, "[ending]", `["../small"]`, 1), partEnding, `flows/small.yaml:5:9: no part "../small"`},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := flow.Load(files(c.user, c.ending))
			require.ErrorContains(t, err, c.want)
		})
	}
}

// TestParseKnowsNoParts: a single file can't bring what other files hold.
func TestParseKnowsNoParts(t *testing.T) {
	_, err := flow.Parse("flows/small.yaml", []byte(partUser))
	require.ErrorContains(t, err, `no part "ending"`)
}
