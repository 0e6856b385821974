package flow

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// Flush product can go in without the flow going anywhere. What the same state asks
// about from then on must not have been forgotten before.
func TestStayingWhileProductGoesInKeepsWhatIsAskedThen(t *testing.T) {
	f, err := Parse("job.yaml", []byte(`
flow: job
title: Product goes in where it is
kind: service
start: here
silence: {person: 1h, cause: quiet, severity: technician}
states:
  - state: here
    tub: {power: "on", water: full, filters: in, product: out}
    on:
      - {when: done, added: flush_product}
      - {when: "yes", if: {all: [{is: {flush_product: in}}, {known: volume_gal}]}, to: over}
  - state: over
    end: true
    tub: {power: "on", water: full, filters: in, product: out}
`))
	require.NoError(t, err)
	x, err := newExplorer(&Set{flows: map[string]*Flow{"job": f}}, f)
	require.NoError(t, err)
	x.findLive()
	here := x.numbers[0]["here"]
	for stage, became := range []string{"not advised", "advised", "in"} {
		require.NotZero(t, x.live[stage][0][here].rest&slotBit(slotVolume), "the volume is asked about with the product %s", became)
	}
}
