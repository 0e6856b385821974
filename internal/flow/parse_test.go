package flow_test

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/flow"
)

const goodFlows = "../../testdata/flows/good"

func goodSource(tb testing.TB, name string) string {
	tb.Helper()
	src, err := os.ReadFile(goodFlows + "/" + name + ".yaml")
	require.NoError(tb, err)
	return string(src)
}

func goodSet(tb testing.TB) *flow.Set {
	tb.Helper()
	set, err := flow.Load(os.DirFS(goodFlows))
	require.NoError(tb, err)
	return set
}

func TestLoadGoodFlows(t *testing.T) {
	set := goodSet(t)
	require.Equal(t, []string{"small_flush", "small_foam"}, set.Names())
	f, ok := set.Flow("small_flush")
	require.True(t, ok)
	require.Equal(t, []string{"yes", "no"}, f.Facts["new_filters"], "yes and no stay words")
	s, ok := f.State("blow_out")
	require.True(t, ok)
	require.Equal(t, flow.Tub{Power: "on", Water: "below_jets", Filters: "out", Product: "in"}, s.Tub)
	require.True(t, s.Brief)
	_, ok = f.State("no_such_state")
	require.False(t, ok)
	_, ok = set.Flow("no_such_flow")
	require.False(t, ok)
}

// slip is one change to the good flow and the problem it must give, exactly at the
// place that § marks in the changed text.
type slip struct {
	name, from, to string
	want           string
}

var tubLine = "    tub: {power: on, water: full, filters: in, product: out}\n"

func slips() []slip {
	return slices.Concat(namesSlips(), guardSlips(), timeSlips(), tubSlips(), askSlips(), shapeSlips())
}

func namesSlips() []slip {
	return []slip{
		{"target", "to: blow_out\n    on", "to: §blow_uot\n    on", `state "drain": unknown target "blow_uot"; name a state of this flow (did you mean "blow_out"?)`},
		{"back", "    back: ask_volume\n    tub: {power: on, water: full, filters: in_water", "    back: §nowhere\n    tub: {power: on, water: full, filters: in_water", `state "add_product": unknown target "nowhere"`},
		{"start", "start: ask_volume", "start: §ask_volum", `unknown start "ask_volum"; name the first state (did you mean "ask_volume"?)`},
		{"kind", "kind: service", "kind: §job", `unknown kind "job"; write service or trouble`},
		{"flow", "flow: small_flush", "flow: §Small", `a flow named "Small"; use small letters, digits and _`},
		{"title", "title: A short flush for the tests", `title: §""`, `a title written ""`},
		{"state twice", "state: refill", "state: §soak", `two states are named "soak"`},
		{"state's name", "state: refill", "state: §Refill!", `a state named "Refill!"`},
		{"signal", "when: not_yet", "when: §notyet", `state "soak": unknown signal "notyet"`},
		{"choice of another state", "when: not_yet", "when: §later", `state "soak": unknown signal "later"`},
		{"no signal", "when: not_yet\n        say", "§say", "state \"soak\": a transition without `when`"},
		{"wording", "say: patience", "say: §Be patient", `state "soak": a wording named "Be patient"`},
		{"state's wording", "say: restart_now", "say: §Restart now", `state "restart": a wording named "Restart now"`},
		{"dose", "dose: balance", "dose: §chlorine", `state "correct": unknown dose "chlorine"; write balance, flush_product, neutralizer or start_up_sanitizer`},
		{"added", "added: balance", "added: §chlorine", `state "correct": unknown dose "chlorine"`},
		{"step", "step: heat", "step: §warm", `state "restart": unknown step "warm"`},
		{"clarity without a yes", "step: heat", "step: heat\n    clarity: §true", `state "restart": a look at the water that asks no yes or no; let it ask yes_no`},
		{"severity", "severity: person_soon", "severity: §soonish", `state "retest": unknown severity "soonish"; write person_soon or technician`},
		{"no cause", "hand_over: {cause: unsafe_reading, severity", "hand_over: {§severity", `state "retest": a cause named ""`},
	}
}

func guardSlips() []slip {
	return []slip{
		{"fact in set", "set: {new_filters: no}", "set: {§old_filters: no}", `state "ask_filters": unknown fact "old_filters"; declare it under facts (did you mean "new_filters"?)`},
		{"value in set", "set: {new_filters: no}", "set: {new_filters: §nope}", `state "ask_filters": fact "new_filters" can't be "nope"; write yes or no`},
		{"band set", "set: {new_filters: no}", "set: {§band: soak}", `state "ask_filters": the fact "band" can't be set`},
		{"value in if", "{is: {band: fix}}", "{is: {band: §fixed}}", `state "retest": fact "band" can't be "fixed"; write unmeasured, soak, fix or person`},
		{"number", "{water_temp_f: 104}", "{§water_temp: 104}", `state "retest": unknown number "water_temp"`},
		{"no number", "{water_temp_f: 104}", "{water_temp_f: §.nan}", `state "retest": "water_temp_f" compared with NaN`},
		{"known", "{known: new_filters}", "{known: §newfilters}", `state "ask_filters": unknown fact or number "newfilters"`},
		{"guard with two", "{is: {band: fix}}", "{§is: {band: fix}, known: ph}", `state "retest": a guard with 2 conditions`},
		{"guard with none", "{is: {band: fix}}", "{§all: []}", `state "retest": a guard with 0 conditions`},
		{"guard within", "{is: {band: fix}}", "{not: {any: [{is: {band: fix}}, {§above: {ph: 7}, below: {ph: 9}}]}}", `state "retest": a guard with 2 conditions`},
		{"guards too deep", "{is: {band: fix}}", strings.Repeat("{not: ", 9) + "{§known: ph}" + strings.Repeat("}", 9), `state "retest": guards nested more than 8 deep`},
		{"fact built in", "  new_filters: [yes, no]", "  new_filters: [yes, no]\n  §band: [good, bad]", `the fact "band" is built in`},
		{"fact is a number", "  new_filters: [yes, no]", "  new_filters: [yes, no]\n  §ph: [good, bad]", `"ph" is a number, not a fact`},
		{"fact's value twice", "  new_filters: [yes, no]", "  new_filters: [yes, no, §yes]", `fact "new_filters" can't have the value "yes"`},
		{"fact without values", "  new_filters: [yes, no]", "  new_filters: [yes, no]\n  empty: §[]", `fact "empty" has 0 values`},
	}
}

func timeSlips() []slip {
	return []slip{
		{"nudge", "nudge: [10m, 1h]", "nudge: [§ten minutes, 1h]", `a duration that can't be read; write it like 30m or 1h30m`},
		{"nudge order", "nudge: [10m, 1h]", "nudge: [10m, §5m]", `a nudge after 5m0s follows one after 10m0s`},
		{"person before nudge", "person: 3h", "person: §30m", `a person after 30m0s, a nudge after 1h0m0s`},
		{"no person", "silence: {nudge: [10m, 1h], person: 3h, ", "silence: {§nudge: [10m, 1h], ", `silence without a person`},
		{"negative", "after: 2m", "after: §-2m", `state "blow_out": a duration of -2m0s`},
		{"too long", "after: 2m", "after: §2000h", `state "blow_out": a duration of 2000h0m0s; write a time over 0 and at most 1440h`},
		{"computed time", "after: drain_to_jets_time", "after: §drying_time", `state "drain": unknown time "drying_time"; write a time like 30m, or drain_time, drain_to_jets_time, fill_time, heat_time, overnight, part_drain_time or part_fill_time`},
		{"timer with when", "after: 2m", "after: 2m\n        when: §done", "state \"blow_out\": a timer with `when`"},
		{"timer twice", "to: blow_out\n    on", "to: blow_out\n      - {timer: §drained_to_jets, after: 1h, to: soak}\n    on", `state "drain": a timer named "drained_to_jets"`},
		{"stamp", "from: product_in", "from: §Product in", `state "soak": a stamp named "Product in"`},
	}
}

func tubSlips() []slip {
	return []slip{
		{"tub missing", "  - state: refill\n    step: refill\n    ask: {done: true}\n    on:\n      - when: done\n        to: restart\n    tub: {power: off, water: rising, filters: in, product: out}\n",
			"  - §state: refill\n    on: [{when: done, to: restart}]\n", `state "refill": does not say the tub's physical state`},
		{"tub part missing", "power: off, water: rising, filters", "§power: off, filters", `state "refill": does not say the tub's water; add water: full, falling, below_jets, empty or rising`},
		{"tub value", "water: rising", "water: §half", `state "refill": unknown water "half"; write full, falling, below_jets, empty or rising`},
		{"same in a service", "water: rising", "water: §same", `state "refill": water is "same"`},
		{"power as a truth value", "power: off, water: rising", "power: §false, water: rising", `state "refill": unknown power "false"`},
	}
}

func askSlips() []slip {
	return []slip{
		{"two questions", "ask: {choice: [added, later]}", "ask: {§choice: [added, later], done: true}", `state "correct": asks 2 things`},
		{"opt-out word", "ask: {choice: [added, later]}", "ask: {choice: [added, later, §stop]}", `state "correct": the choice "stop" is an opt-out word`},
		{"one choice", "[added, later]", "§[added]", `state "correct": offers 1 choices`},
		{"choice twice", "[added, later]", "[added, later, §added]", `state "correct": a choice named "added"`},
		{"reading", `"total_alkalinity_ppm?"`, `§alkalinity`, `state "retest": unknown reading "alkalinity"`},
		{"reading twice", `"total_alkalinity_ppm?"`, `§"ph?"`, `state "retest": asks for "ph" twice`},
		{"no readings", `[free_chlorine_ppm, ph, water_temp_f, "total_alkalinity_ppm?"]`, `§[]`, `state "retest": asks for no readings`},
		{"end with ask", "soakable: true", "soakable: true\n    ask: {§done: true}", "state \"ready\": an end state with `ask`"},
		{"end with timers", "soakable: true", "soakable: true\n    timers: §[{timer: a, after: 1h, to: soak}]", "state \"ready\": an end state with `timers`"},
		{"end that waits", "soakable: true", "soakable: true\n    on: §[{when: done, to: soak}]", "state \"ready\": an end state with `on`"},
		{"return in a service", "soakable: true", "soakable: true\n    return: §soak", `state "ready": returns, but is no trouble's end`},
		{"skip with when", "- if: {known: new_filters}", "- when: §yes\n        if: {known: new_filters}", "state \"ask_filters\": a skip with `when`"},
		{"skip that stays", "- if: {known: new_filters}\n        to: add_product", "- §if: {known: new_filters}", `state "ask_filters": a skip that leads nowhere`},
		{"skip that calls", "- if: {known: new_filters}", "- call: §small_foam\n        if: {known: new_filters}", "state \"ask_filters\": a skip with `call`"},
		{"skip circle", "  - state: ready", "  - state: one\n    skip: §[{to: two}]\n" + tubLine + "  - state: two\n    skip: [{to: one}]\n" + tubLine + "  - state: ready", `state "one": skips lead back to it; break the circle`},
		{"call and to", "call: small_foam", "call: small_foam\n    to: §soak", `calls and goes on at once`},
		{"call and hold", "call: small_foam", "call: small_foam\n    hand_over: {§cause: foam, severity: technician, hold: true}", `calls a trouble and holds the service`},
		{"shadowed", "- when: no\n        set", "- §when: yes\n        set", `state "ask_filters": never taken: an earlier "yes" has no guard`},
	}
}

func shapeSlips() []slip {
	return []slip{
		{"unknown key", "step: heat", "§stepp: heat", `unknown field "stepp"; check the spelling, and that it stands at the right level`},
		{"unknown key in a timer", "after: 2m", "§afterr: 2m", `unknown field "afterr"`},
		{"key twice", "step: heat", "§say: heat", `mapping key "say" already defined`},
		{"wrong kind of node", "timers:\n      - timer: blown_out\n        after: 2m\n        to: refill", "timers: §2m", `string was used where sequence is expected`},
		{"no value", "step: heat", "step:§\n    brief: false", `a key or list item has no value; give it one or take it out`},
		{"anchor", "step: heat", "step: §&x heat", `"&": anchors, aliases, merges, tags, directives and complex keys are not used`},
		{"second document", "    soakable: true", "    soakable: true\n§---\nflow: other\nmore:", `a second document; keep one flow in one file`},
	}
}

func TestParseNamesThePlace(t *testing.T) {
	source := goodSource(t, "small_flush")
	for _, slip := range slips() {
		t.Run(slip.name, func(t *testing.T) {
			require.Equal(t, 1, strings.Count(source, slip.from), "the slip must fit one place")
			marked := strings.Replace(source, slip.from, slip.to, 1)
			before, after, found := strings.Cut(marked, "§")
			require.True(t, found)
			line := 1 + strings.Count(before, "\n")
			column := len(before) - strings.LastIndex(before, "\n")

			f, err := flow.Parse("flows/small_flush.yaml", []byte(before+after))
			require.Nil(t, f)
			require.Error(t, err)
			require.Contains(t, err.Error(), fmt.Sprintf("flows/small_flush.yaml:%d:%d: %s", line, column, slip.want))
			require.NotEmpty(t, flow.Problems(err)[0].Do, "a problem says what to do")
		})
	}
}

func TestParseJoinsProblems(t *testing.T) {
	source := goodSource(t, "small_flush")
	source = strings.Replace(source, "to: blow_out\n    on", "to: blow_uot\n    on", 1)
	source = strings.Replace(source, "dose: balance", "dose: chlorine", 1)
	_, err := flow.Parse("x.yaml", []byte(source))
	problems := flow.Problems(err)
	require.Len(t, problems, 2)
	require.Equal(t, []string{`state "drain"`, `state "correct"`}, []string{problems[0].Where, problems[1].Where})
	var first *flow.Problem
	require.ErrorAs(t, err, &first)
	require.Equal(t, 77, first.Line)
}

func TestParseBounds(t *testing.T) {
	bounds := []struct{ name, src, want string }{
		{"empty", "", "x.yaml: empty; begin with `flow: name`"},
		{"only a remark", "# nothing\n", "x.yaml: empty"},
		{"a list", "- flow: x\n", "x.yaml:1:1: not a mapping"},
		{"a word", "flow\n", "x.yaml:1:1: not a mapping"},
		{"too long", "flow: x\n" + strings.Repeat("# remark\n", 30_000), "x.yaml: 270008 bytes long; keep flow files under 262144 bytes"},
		{"brackets", "flow: " + strings.Repeat("[", 100_000), "x.yaml:1:47: nested too deep"},
		{"braces", strings.Repeat("{a: ", 50_000), "nested too deep"},
		{"dashes", strings.Repeat("- ", 100_000), "nested too deep"},
		{"one long line", strings.Repeat(`"a" `, 60_000), "too much in one line"},
		{"many keys", strings.Repeat("k: v\n", 40_000), "too much in one line or file"},
		{"tags", "x: " + strings.Repeat("! ", 100_000), "not used in flow files"},
		{"tabs", "flow:\tx\n\tstart: y\n", "x.yaml:"},
		{"no states", "flow: x\ntitle: t\nkind: service\nstart: a\n", "x.yaml:1:1: no states"},
		{"broken UTF-8", "flow: \xff\xfe\n", "x.yaml:"},
	}
	for _, bound := range bounds {
		t.Run(bound.name, func(t *testing.T) {
			_, err := flow.Parse("x.yaml", []byte(bound.src))
			require.Error(t, err)
			require.Contains(t, err.Error(), bound.want)
			require.NotEmpty(t, flow.Problems(err))
		})
	}
}
