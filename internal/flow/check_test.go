package flow_test

import (
	"maps"
	"os"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"tubhand/internal/flow"
)

// The properties, as reports name them.
const (
	reached  = "every state can be reached"
	finish   = "an end or a person can be reached from everywhere"
	silence  = "silence anywhere ends with a person or an end"
	power    = "power is never on with the water low, but for the brief blow-out"
	twice    = "no chemical is advised twice without a reading between, flush product never twice"
	filters  = "filters are back before water circulates once the flush product is gone"
	product  = "flush product leaves only with the water"
	soak     = "soaking is allowed only on fresh readings, in a whole and warm tub without product"
	volume   = "no dose without a known volume"
	callers  = "a trouble takes over the tub as its caller left it"
	wordings = "every wording exists"
)

// failures gives the counter-examples of the properties that fail.
func failures(r flow.Report) map[string][]string {
	found := map[string][]string{}
	for _, proof := range r.Proofs {
		if !proof.OK {
			found[proof.Name] = proof.Counter
		}
	}
	return found
}

func check(t *testing.T, set *flow.Set, name string) flow.Report {
	t.Helper()
	report, err := flow.Check(set, name, nil)
	require.NoError(t, err)
	require.True(t, report.Complete)
	return report
}

func TestGoodFlowsAreProved(t *testing.T) {
	set := goodSet(t)
	for _, name := range set.Names() {
		report := check(t, set, name)
		require.Empty(t, failures(report))
		require.True(t, report.OK())
		require.Len(t, report.Proofs, 11)
		require.Greater(t, report.Nodes, 5)
		require.Greater(t, report.Transitions, report.Nodes)
	}
}

const full = "[power on, water full, filters in, product out]"

// Each flow in testdata/flows/broken breaks one property, in the way its first line
// says; the counter-example is the shortest way there.
func TestEachPropertyFailsOnItsBrokenFlow(t *testing.T) {
	set, err := flow.Load(os.DirFS("../../testdata/flows/broken"))
	require.NoError(t, err)
	broken := map[string]map[string][]string{
		"unreached": {reached: {`so nothing leads to forgotten (or it is always skipped)`}},
		"no_way_out": {
			finish: {`begins in "hello" ` + full, `the owner says "no": "trap" ` + full, `so from "trap" on, nothing leads to an end or a person`},
			silence: {`begins in "hello" ` + full, `the owner says "no": "trap" ` + full,
				`so when the owner says nothing in "trap", no person ever comes; give the state or the flow a silence with a person`},
		},
		"silent_circle": {silence: {`begins in "wait_one" ` + full,
			`so timers lead from "wait_one" back to it, and each starts the silence anew, so no person ever comes`}},
		"power_over_low_water": {power: {`begins in "empty_it" ` + full, `the owner says "done"`,
			`so in "emptying" the power is on and the water falling`}},
		"endless_blow_out": {power: {`begins in "blow" [power on, water below_jets, filters out, product out]`,
			`so the power is on over low water in "blow", but no timer and no nudge comes within 5m0s`}},
		"flush_twice": {twice: {`begins in "tell_volume" ` + full, `the owner tells a volume: "add_product" ` + full,
			`the owner says "done": "foaming" [power on, water full, filters in, product in]`, `the owner says "no"`,
			`so flush_product is advised in "more_product", but it went in already, and it may go in only once in a service`}},
		"dose_without_reading": {twice: {`begins in "test" ` + full, `the owner sends readings (of any kind): "correct" ` + full,
			`the owner says "done": "better" ` + full, `the owner says "no"`,
			`so balance is advised in "correct", but it went in already, and no reading came in since`}},
		"dose_not_noted": {twice: {`begins in "tell_volume" ` + full, `the owner tells a volume: "correct" ` + full,
			`the owner says "done": "better" ` + full, `the owner says "no"`,
			"so balance is advised in \"correct\", but it may have gone in already (its state was left without `added`), and no reading came in since"}},
		"filters_forgotten": {filters: {`begins in "tell_volume" ` + full,
			`the owner tells a volume: "add_product" [power on, water full, filters out, product out]`,
			`the owner says "done": "drain" [power off, water empty, filters out, product out]`,
			`the owner says "done": "refill" [power off, water full, filters out, product out]`, `the owner says "done"`,
			`so in "restart" water circulates with the filters out, and the flush product is gone`}},
		"product_forgotten": {product: {`begins in "tell_volume" ` + full, `the owner tells a volume: "add_product" ` + full,
			`the owner says "done"`,
			`so "done_already" says that the product is out, but it went in and the water was not drained since`}},
		"soak_unread": {soak: {`begins in "tell_volume" ` + full, `the owner tells a volume: "test" ` + full,
			`the owner sends readings (band soak, water_temp_f known): "a_little_more" ` + full, `the owner says "added"`,
			`so "soak_now" says that they can soak, but no complete reading is newer than the last addition and fresh`}},
		"soak_any_temperature": {soak: {`begins in "test" ` + full, `the owner sends readings (band soak, water_temp_f unknown)`,
			`so "soak_now" says that they can soak, but the water's temperature was not measured`}},
		"soak_goes_on": {soak: {`begins in "test" ` + full, `the owner sends readings (band soak, water_temp_f known): "soak_now" ` + full,
			`the owner sends readings (band fix, water_temp_f unknown)`,
			`so "soak_now" still says that they can soak, but the readings are in the band fix`}},
		"dose_unknown_volume": {volume: {`begins in "tell_volume" ` + full, `the owner says "unknown"`,
			`so flush_product is advised in "add_product", but the volume is unknown`}},
		"wrong_caller": {callers: {`begins in "hello" ` + full, `the owner says "airlock"`,
			`so starts_empty begins in "look" as if the water is empty, but it is called from "hello", where it is full; write same`}},
		"starts_empty": {},
	}
	for _, name := range set.Names() {
		t.Run(name, func(t *testing.T) {
			require.Contains(t, broken, name)
			report := check(t, set, name)
			want := broken[name]
			require.Equal(t, want, failures(report))
			require.Equal(t, len(want) == 0, report.OK())
		})
	}
}

// goodSlip is a small slip in the good flow that a proof must catch.
type goodSlip struct {
	name, from, to string
	more           string // states added at the end
	want           []string
}

const (
	spinState = `
  - state: spin
    ask: {done: true}
    on: [{when: done, to: restart}]
    tub: {power: on, water: full, filters: out, product: out}
`
	againState = `
  - state: add_again
    ask: {done: true}
    dose: flush_product
    on: [{when: done, added: flush_product, stamp: product_in, to: soak}]
    tub: {power: on, water: full, filters: in_water, product: in}
`
)

func goodSlips() []goodSlip {
	return []goodSlip{
		{name: "blow-out not brief", from: "    brief: true\n", want: []string{power}},
		{name: "blow-out without a timer", from: "    timers:\n      - timer: blown_out\n        after: 2m\n        to: refill\n", want: []string{power}},
		{name: "refill with the power on", from: "power: off, water: rising", to: "power: on, water: rising", want: []string{power}},
		{name: "spins without filters", from: "to: restart", to: "to: spin", more: spinState, want: []string{filters}},
		{name: "product not noted", from: "        added: flush_product\n        stamp: product_in\n        to: soak",
			to: "        to: add_again", more: againState, want: []string{twice}},
		{name: "corrects all but a person's, which is right", from: "{is: {band: fix}}", to: "{not: {is: {band: person}}}", want: nil},
		{name: "ready when fixed", from: "        added: balance\n        to: retest", to: "        added: balance\n        to: ready", want: []string{soak}},
		{name: "corrected twice", from: "        added: balance\n        to: retest", to: "        added: balance\n        to: correct", want: []string{twice}},
		{name: "skips the volume", from: "        say: how_to_find_volume", to: "        to: ask_filters", want: []string{volume}},
		{name: "temperature not asked", from: "{all: [{is: {band: soak}}, {at_most: {water_temp_f: 104}}]}", to: "{is: {band: soak}}", want: []string{soak}},
		{name: "warm, but not known to be good", from: "{all: [{is: {band: soak}}, {at_most: {water_temp_f: 104}}]}",
			to: "{any: [{is: {band: soak}}, {at_most: {water_temp_f: 104}}]}", want: []string{soak}},
		{name: "never drained", from: "        from: product_in\n        to: drain", to: "        from: product_in\n        to: restart",
			want: []string{reached, product, soak}},
		{name: "nobody asks", from: "silence: {nudge: [10m, 1h], person: 3h, cause: gone_quiet, severity: technician}\n", want: []string{silence}},
		{name: "timers in a circle", from: "  - state: soak\n    step: soak\n",
			to: "  - state: soak\n    step: soak\n    on: [{when: done, to: drain}]\n    timers: [{timer: again, after: 20m, to: soak}]\n" +
				"    tub: {power: on, water: full, filters: in_water, product: in}\n  - state: old_soak\n", want: []string{reached, silence}},
	}
}

func TestSlipsInTheGoodFlowAreCaught(t *testing.T) {
	for _, slip := range goodSlips() {
		t.Run(slip.name, func(t *testing.T) {
			source := goodSource(t, "small_flush")
			require.Equal(t, 1, strings.Count(source, slip.from))
			source = strings.Replace(source, slip.from, slip.to, 1) + slip.more
			if !strings.Contains(source, "stamp: product_in") {
				source = strings.Replace(source, "        from: product_in\n", "", 1)
			}
			set, err := flow.Load(fstest.MapFS{
				"a.yaml": {Data: []byte(source)}, "b.yaml": {Data: []byte(goodSource(t, "small_foam"))},
			})
			require.NoError(t, err)
			require.ElementsMatch(t, slip.want, slices.Collect(maps.Keys(failures(check(t, set, "small_flush")))))
		})
	}
}

func TestCheckLooksForWordings(t *testing.T) {
	set := goodSet(t)
	var asked []string
	report, err := flow.Check(set, "small_flush", func(name, key string) bool {
		asked = append(asked, name+"/"+key)
		return key != "patience" && key != "cautions.product" && key != "nudge" && key != "soak.nudge"
	})
	require.NoError(t, err)
	require.Equal(t, map[string][]string{
		wordings: {"so missing in small_flush: cautions.product, patience, soak.nudge"},
	}, failures(report))
	require.Contains(t, asked, "small_flush/restart_now", "the state's own wording key")
	require.Contains(t, asked, "common/cautions.product", "what the flow does not have may be common")
	require.Contains(t, asked, "common/nudge")
	require.NotContains(t, asked, "small_flush/restart", "its name is not its key")
	require.NotContains(t, asked, "small_flush/ready.nudge", "ends wait for nothing")

	report = check(t, set, "small_flush")
	last := report.Proofs[len(report.Proofs)-1]
	require.Equal(t, wordings, last.Name)
	require.NotEmpty(t, last.Skipped)
}

func TestCheckOfNoFlow(t *testing.T) {
	_, err := flow.Check(goodSet(t), "no_such_flow", nil)
	require.ErrorIs(t, err, flow.ErrUnknownFlow)
}

func TestCheckSaysTheSameEachTime(t *testing.T) {
	set, err := flow.Load(os.DirFS("../../testdata/flows/broken"))
	require.NoError(t, err)
	for _, name := range set.Names() {
		first := check(t, set, name)
		for range 5 {
			require.Equal(t, first, check(t, set, name))
		}
	}
}
