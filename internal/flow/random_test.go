package flow

import (
	"fmt"
	"os"
	"testing"
	"testing/fstest"

	"github.com/goccy/go-yaml"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// randomFlow draws a small flow that Parse takes, with everything that the exploration
// follows: guards on facts and numbers, doses, timers, skips, calls, ways back.
func randomFlow(t *rapid.T, name string, kind Kind, calls string) *Flow {
	pick := func(what string, from ...string) string { return rapid.SampledFrom(from).Draw(t, what) }
	n := rapid.IntRange(3, 5).Draw(t, "states")
	names := make([]string, n)
	for i := range names {
		names[i] = fmt.Sprintf("s%d", i)
	}
	f := &Flow{Name: name, Title: "Drawn at random", Kind: kind, Start: "s0", Facts: map[string][]string{"wet": {"yes", "no"}}}
	if rapid.Bool().Draw(t, "flow has silence") {
		f.Silence = &Silence{Person: Duration(3600e9), Cause: "quiet", Severity: "technician"}
	}
	transition := func(when bool) Transition {
		tr := Transition{If: randomGuard(t, 0), To: pick("to", append(names, "")...)}
		if when {
			tr.When = pick("when", "done", "yes", "readings", "volume", "volume_changed", "undo")
		}
		if rapid.IntRange(0, 3).Draw(t, "set") == 0 {
			tr.Set = map[string]string{"wet": pick("wet", "yes", "no")}
		}
		tr.Added = pick("added", "", "", "", doseFlush, doseBalance)
		switch rapid.IntRange(0, 4).Draw(t, "more") {
		case 0:
			tr.HandOver = &HandOver{Cause: "why", Severity: "technician", Hold: true}
		case 1, 2:
			if calls != "" {
				tr.Call, tr.To = calls, ""
			}
		}
		return tr
	}
	for i, state := range names {
		s := &State{Name: state, Tub: Tub{
			Power: pick("power", "on", "off"), Water: pick("water", "full", "empty"),
			Filters: pick("filters", "in", "out"), Product: pick("product", "in", "out"),
		}}
		if kind == TroubleKind {
			s.Tub = Tub{same, pick("water", same, "empty"), same, pick("product", same, "in")}
		}
		f.States = append(f.States, s)
		if i == n-1 {
			s.End, s.Soakable = true, rapid.Bool().Draw(t, "soakable")
			continue
		}
		s.Dose = pick("dose", "", "", doseFlush, doseBalance)
		if rapid.Bool().Draw(t, "asks") {
			s.Ask.Readings = []string{"ph"}
		}
		s.Back = pick("back", append(names, "")...)
		for range rapid.IntRange(1, 3).Draw(t, "transitions") {
			s.On = append(s.On, transition(true))
		}
		guardAllButLast(s.On)
		if rapid.IntRange(0, 3).Draw(t, "timer") == 0 {
			s.Timers = []Timer{{Name: "wait", After: "10m", Transition: transition(false)}}
		}
		if rapid.IntRange(0, 3).Draw(t, "skip") == 0 {
			s.Skip = []Transition{{If: randomGuard(t, 0), To: names[rapid.IntRange(i+1, n-1).Draw(t, "skips to")]}}
		}
	}
	if rapid.Bool().Draw(t, "always") {
		f.Always = []Transition{transition(true)}
	}
	return f
}

// guardAllButLast gives a guard to transitions that would leave a later one for the same
// signal never taken, which Parse refuses.
func guardAllButLast(list []Transition) {
	for i := range list {
		for j := range list[:i] {
			if list[j].When == list[i].When {
				list[j].If = orAlways(list[j].If)
			}
		}
	}
}

func randomGuard(t *rapid.T, depth int) *Guard {
	switch rapid.IntRange(0, 9-depth).Draw(t, "guard") {
	case 0:
		return &Guard{Is: map[string]string{"band": rapid.SampledFrom([]string{"soak", "fix", "unmeasured"}).Draw(t, "band")}}
	case 1:
		return &Guard{Is: map[string]string{"wet": "yes"}}
	case 2:
		return &Guard{Known: rapid.SampledFrom([]string{"volume_gal", "wet", "water_temp_f", "band"}).Draw(t, "known")}
	case 3:
		return &Guard{Is: map[string]string{"flush_product": rapid.SampledFrom([]string{"no", "advised", "in"}).Draw(t, "flush")}}
	case 4:
		return &Guard{Is: map[string]string{"product": "in"}}
	case 5:
		return &Guard{AtLeast: map[string]float64{"rounds": 2}}
	case 6:
		if depth < 2 {
			return &Guard{Not: orAlways(randomGuard(t, depth+1))}
		}
	case 7:
		if depth < 2 {
			return &Guard{Any: []Guard{*orAlways(randomGuard(t, depth+1)), *orAlways(randomGuard(t, depth+1))}}
		}
	}
	return nil
}

func orAlways(g *Guard) *Guard {
	if g == nil {
		return &Guard{Known: "volume_gal"}
	}
	return g
}

// randomSet draws a service and the trouble it may call, written as files and loaded.
func randomSet(t *rapid.T) *Set {
	files := fstest.MapFS{}
	for _, f := range []*Flow{randomFlow(t, "job", ServiceKind, "bother"), randomFlow(t, "bother", TroubleKind, "")} {
		src, err := yaml.MarshalWithOptions(f, yaml.OmitZero())
		require.NoError(t, err)
		files[f.Name+".yaml"] = &fstest.MapFile{Data: src}
	}
	set, err := Load(files)
	require.NoError(t, err)
	return set
}

// What nobody asks about any more is forgotten, and that must change no verdict.
func TestForgettingChangesNoVerdict(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		set := randomSet(t)
		for _, name := range set.Names() {
			f, _ := set.Flow(name)
			small, err := newExplorer(set, f)
			require.NoError(t, err)
			large, err := newExplorer(set, f)
			require.NoError(t, err)
			large.keepAll, large.most = true, 6000
			smallReport, largeReport := small.prove(nil), large.prove(nil)
			if !largeReport.Complete {
				continue // too large without forgetting, which is why it forgets
			}
			require.Equal(t, large.seen, small.seen, "the same states are reached")
			for i := range largeReport.Proofs {
				require.Equal(t, largeReport.Proofs[i].OK, smallReport.Proofs[i].OK, "%s: %s\n%v\n%v", name,
					largeReport.Proofs[i].Name, largeReport.Proofs[i].Counter, smallReport.Proofs[i].Counter)
			}
			require.LessOrEqual(t, smallReport.Nodes, largeReport.Nodes)
		}
	})
}

// An exploration that grows too large says so and proves nothing.
func TestGivesUpHonestly(t *testing.T) {
	set, err := Load(os.DirFS("../../testdata/flows/good"))
	require.NoError(t, err)
	f, _ := set.Flow("small_flush")
	x, err := newExplorer(set, f)
	require.NoError(t, err)
	x.most = 10
	report := x.prove(func(string, string) bool { return true })
	require.False(t, report.Complete)
	require.False(t, report.OK())
	require.Equal(t, 10, report.Nodes)
	for _, proof := range report.Proofs {
		if proof.Name == wordingExists.sentence() {
			require.True(t, proof.OK, "this needs no exploration")
			continue
		}
		require.False(t, proof.OK, proof.Name)
		require.NotEmpty(t, proof.Counter)
	}
	require.Equal(t, []string{"not proved: gave up after 10 abstract states"}, report.Proofs[canFinish].Counter)
}

// Written out and read again, a flow is the same.
func TestFlowsSurviveWriting(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		set := randomSet(t)
		for _, name := range set.Names() {
			f, _ := set.Flow(name)
			src, err := yaml.MarshalWithOptions(f, yaml.OmitZero())
			require.NoError(t, err)
			again, err := Parse(f.file, src)
			require.NoError(t, err)
			require.Equal(t, f, again)
		}
	})
}
