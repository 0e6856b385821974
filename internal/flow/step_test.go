package flow_test

import (
	"maps"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tubhand/internal/flow"
)

// nobody knows nothing.
type nobody struct{}

func (nobody) Number(string) (float64, bool) { return 0, false }
func (nobody) Fact(string) (string, bool)    { return "", false }

// knows is a view of fixed numbers and facts.
type knows struct {
	numbers map[string]float64
	facts   map[string]string
}

func (k knows) Number(name string) (float64, bool) { v, ok := k.numbers[name]; return v, ok }
func (k knows) Fact(name string) (string, bool)    { v, ok := k.facts[name]; return v, ok }

func TestGuardEval(t *testing.T) {
	view := knows{map[string]float64{"ph": 7.4, "volume_gal": 375}, map[string]string{"wet": "yes", "band": "unmeasured"}}
	ph := func(g flow.Guard) *flow.Guard { return &g }
	one := func(name string, v float64) map[string]float64 { return map[string]float64{name: v} }
	guards := []struct {
		name  string
		guard *flow.Guard
		want  flow.Truth
	}{
		{"none", nil, flow.True},
		{"empty", &flow.Guard{}, flow.Unknown},
		{"above", ph(flow.Guard{Above: one("ph", 7.4)}), flow.False},
		{"at least", ph(flow.Guard{AtLeast: one("ph", 7.4)}), flow.True},
		{"below", ph(flow.Guard{Below: one("ph", 7.4)}), flow.False},
		{"at most", ph(flow.Guard{AtMost: one("ph", 7.4)}), flow.True},
		{"several numbers", ph(flow.Guard{AtMost: map[string]float64{"ph": 8, "volume_gal": 300}}), flow.False},
		{"never measured", ph(flow.Guard{AtMost: one("bromine_ppm", 100)}), flow.Unknown},
		{"one measured, one not", ph(flow.Guard{AtMost: map[string]float64{"ph": 8, "bromine_ppm": 100}}), flow.Unknown},
		{"one false, one not measured", ph(flow.Guard{AtMost: map[string]float64{"ph": 7, "bromine_ppm": 100}}), flow.False},
		{"is", ph(flow.Guard{Is: map[string]string{"wet": "yes"}}), flow.True},
		{"is not", ph(flow.Guard{Is: map[string]string{"wet": "no"}}), flow.False},
		{"never asked", ph(flow.Guard{Is: map[string]string{"dry": "no"}}), flow.Unknown},
		{"known number", ph(flow.Guard{Known: "ph"}), flow.True},
		{"known fact", ph(flow.Guard{Known: "wet"}), flow.True},
		{"not known", ph(flow.Guard{Known: "dry"}), flow.False},
		{"band unmeasured", ph(flow.Guard{Is: map[string]string{"band": "unmeasured"}}), flow.True},
		{"band not known", ph(flow.Guard{Known: "band"}), flow.False},
		{"band not measured", ph(flow.Guard{Is: map[string]string{"band": "person"}}), flow.Unknown},
	}
	for _, g := range guards {
		t.Run(g.name, func(t *testing.T) {
			require.Equal(t, g.want, g.guard.Eval(view), "want %v", g.want)
		})
	}
}

// Kleene's tables: any combination of what holds, what does not and what is not known.
func TestGuardEvalIsKleenes(t *testing.T) {
	of := map[flow.Truth]flow.Guard{
		flow.True: {Known: "wet"}, flow.False: {Known: "dry"}, flow.Unknown: {Is: map[string]string{"dry": "yes"}},
	}
	view := knows{facts: map[string]string{"wet": "yes"}}
	order := map[flow.Truth]int{flow.False: 0, flow.Unknown: 1, flow.True: 2}
	for a, guardA := range of {
		require.Equal(t, 2-order[a], order[(&flow.Guard{Not: &guardA}).Eval(view)])
		for b, guardB := range of {
			require.Equal(t, min(order[a], order[b]), order[(&flow.Guard{All: []flow.Guard{guardA, guardB}}).Eval(view)], "%v and %v", a, b)
			require.Equal(t, max(order[a], order[b]), order[(&flow.Guard{Any: []flow.Guard{guardA, guardB}}).Eval(view)], "%v or %v", a, b)
		}
	}
}

// A guard without Known that holds, or fails, with little known must do so whatever
// else comes to be known: what was never measured decides nothing.
func TestGuardEvalNeverLeansOnTheUnknown(t *testing.T) {
	var guard func(t *rapid.T, depth int) flow.Guard
	guard = func(t *rapid.T, depth int) flow.Guard {
		number := rapid.SampledFrom([]string{"ph", "tds_ppm"}).Draw(t, "number")
		against := map[string]float64{number: float64(rapid.IntRange(0, 3).Draw(t, "limit"))}
		switch rapid.IntRange(0, 6-3*min(depth, 1)).Draw(t, "kind") {
		case 0:
			return flow.Guard{Above: against}
		case 1:
			return flow.Guard{AtMost: against}
		case 2:
			return flow.Guard{Is: map[string]string{"wet": rapid.SampledFrom([]string{"yes", "no"}).Draw(t, "wet")}}
		case 3:
			return flow.Guard{AtLeast: against}
		case 4:
			inner := guard(t, depth+1)
			return flow.Guard{Not: &inner}
		case 5:
			return flow.Guard{All: []flow.Guard{guard(t, depth+1), guard(t, depth+1)}}
		}
		return flow.Guard{Any: []flow.Guard{guard(t, depth+1), guard(t, depth+1)}}
	}
	rapid.Check(t, func(t *rapid.T) {
		g := guard(t, 0)
		all := knows{
			map[string]float64{"ph": float64(rapid.IntRange(0, 3).Draw(t, "ph")), "tds_ppm": float64(rapid.IntRange(0, 3).Draw(t, "tds"))},
			map[string]string{"wet": rapid.SampledFrom([]string{"yes", "no"}).Draw(t, "wet")},
		}
		some := knows{maps.Clone(all.numbers), maps.Clone(all.facts)}
		for _, name := range []string{"ph", "tds_ppm", "wet"} {
			if rapid.Bool().Draw(t, "drop") {
				delete(some.numbers, name)
				delete(some.facts, name)
			}
		}
		require.NotEqual(t, flow.Unknown, g.Eval(all), "with everything known it decides")
		if early := g.Eval(some); early != flow.Unknown {
			require.Equal(t, early, g.Eval(all))
		}
	})
}

func goodState(t testing.TB, name string) (*flow.Flow, *flow.State) {
	t.Helper()
	f, ok := goodSet(t).Flow("small_flush")
	require.True(t, ok)
	s, ok := f.State(name)
	require.True(t, ok)
	return f, s
}

func TestMatch(t *testing.T) {
	f, retest := goodState(t, "retest")
	soak := knows{map[string]float64{"water_temp_f": 101}, map[string]string{"band": "soak"}}
	matches := []struct {
		name    string
		signals []string
		view    flow.View
		to, say string
	}{
		{"guard holds", []string{"readings"}, soak, "ready", ""},
		{"a later guard holds", []string{"readings"}, knows{facts: map[string]string{"band": "fix"}}, "correct", ""},
		{"no guard holds", []string{"readings"}, nobody{}, "", "more_readings"},
		{"the first signal first", []string{"readings", "talk_to_human"}, soak, "ready", ""},
		{"a signal that is not heard is passed over", []string{"thanks", "readings"}, soak, "ready", ""},
		{"always comes after the state's own", []string{"foam_too_much"}, soak, "", ""},
	}
	for _, m := range matches {
		t.Run(m.name, func(t *testing.T) {
			tr, ok := f.Match(retest, m.signals, m.view)
			require.True(t, ok)
			require.Equal(t, m.to, tr.To)
			require.Equal(t, m.say, tr.Say)
		})
	}
	_, ok := f.Match(retest, []string{"thanks", "done"}, soak)
	require.False(t, ok)
	tr, ok := f.Match(&flow.State{}, []string{"foam_too_much"}, soak)
	require.True(t, ok, "an empty state hears what is valid in every state")
	require.Equal(t, "small_foam", tr.Call)
}

func TestEnterSkipsWhatIsKnown(t *testing.T) {
	f, _ := goodState(t, "retest")
	s, passed := f.Enter("ask_volume", nobody{})
	require.Equal(t, "ask_volume", s.Name)
	require.Empty(t, passed)

	s, passed = f.Enter("ask_volume", knows{map[string]float64{"volume_gal": 375}, map[string]string{"new_filters": "no"}})
	require.Equal(t, "add_product", s.Name)
	require.Len(t, passed, 2)

	s, _ = f.Enter("nowhere", nobody{})
	require.Nil(t, s)
}

func TestEnterSeesWhatSkipsSet(t *testing.T) {
	const source = `
flow: chain
title: One skip sets what the next one asks about
kind: service
start: first
facts: {wet: [yes, no]}
states:
  - state: first
    skip: [{set: {wet: yes}, say: noted, to: second}]
    tub: {power: on, water: full, filters: in, product: out}
  - state: second
    skip: [{if: {all: [{is: {wet: yes}}, {known: ph}]}, to: third}]
    tub: {power: on, water: full, filters: in, product: out}
  - state: third
    end: true
    tub: {power: on, water: full, filters: in, product: out}
`
	f, err := flow.Parse("chain.yaml", []byte(source))
	require.NoError(t, err)
	s, passed := f.Enter("first", knows{numbers: map[string]float64{"ph": 7.4}})
	require.Equal(t, "third", s.Name)
	require.Equal(t, "noted", passed[0].Say)
	s, _ = f.Enter("second", knows{numbers: map[string]float64{"ph": 7.4}})
	require.Equal(t, "second", s.Name, "nothing is kept between entries")
}

func TestSilenceOf(t *testing.T) {
	f, soak := goodState(t, "soak")
	require.Equal(t, "gone_quiet", f.SilenceOf(soak).Cause)
	own := &flow.Silence{Cause: "own"}
	require.Equal(t, own, f.SilenceOf(&flow.State{Silence: own}))
	require.Nil(t, (&flow.Flow{}).SilenceOf(soak))
}

func TestTimer(t *testing.T) {
	_, soak := goodState(t, "soak")
	fixed, ok := soak.Timers[0].Fixed()
	require.True(t, ok)
	require.Equal(t, 30.0, fixed.Minutes())
	tr, ok := soak.Timers[0].Due(nobody{})
	require.True(t, ok)
	require.Equal(t, "drain", tr.To)

	_, drain := goodState(t, "drain")
	_, ok = drain.Timers[0].Fixed()
	require.False(t, ok, "it is worked out")
	guarded := flow.Timer{Transition: flow.Transition{If: &flow.Guard{Is: map[string]string{"wet": "yes"}}}}
	_, ok = guarded.Due(nobody{})
	require.False(t, ok)
}

func BenchmarkMatch(b *testing.B) {
	f, retest := goodState(b, "retest")
	view := &knows{map[string]float64{"water_temp_f": 101}, map[string]string{"band": "soak"}}
	signals := []string{"readings", "answer"}
	b.ReportAllocs()
	for b.Loop() {
		if _, ok := f.Match(retest, signals, view); !ok {
			b.Fatal("no match")
		}
	}
}

func BenchmarkCheck(b *testing.B) {
	set := goodSet(b)
	b.ReportAllocs()
	for b.Loop() {
		report, err := flow.Check(set, "small_flush", nil)
		if err != nil || !report.OK() {
			b.Fatal(report, err)
		}
	}
}
