package corpus

import (
	"fmt"
	"io"
	"sort"

	"tubhand/internal/safety"
	"tubhand/internal/understand"
)

// Report sums outcomes up.
type Report struct {
	outcomes []Outcome
}

// Evaluate compares every sample as the reader understands it.
func Evaluate(reader *understand.Reader, samples []Sample) Report {
	r := Report{outcomes: make([]Outcome, 0, len(samples))}
	for _, s := range samples {
		r.outcomes = append(r.outcomes, Compare(reader, s))
	}
	return r
}

// share is a count with what it is counted of.
type share struct{ n, of int }

func (s *share) add(hit bool) {
	s.of++
	if hit {
		s.n++
	}
}

func (s share) String() string {
	if s.of == 0 {
		return "none"
	}
	return fmt.Sprintf("%d of %d (%.2f %%)", s.n, s.of, 100*float64(s.n)/float64(s.of))
}

// totals are the figures that the project holds itself to.
type totals struct {
	emergencies, harmlessEmergency, harmlessRaised, hazardKind, severity share
	optOut, falseOptOut                                                  share
	missed, wrong, acted, needless                                       share
	volumes, volumesInvented                                             share
	intents                                                              share
}

func (r Report) totals() totals {
	var t totals
	for _, o := range r.outcomes {
		t.hazards(o)
		want := o.Sample.Want.Intent
		if want == "" {
			continue // labelled for its hazard alone
		}
		t.values(o)
		t.intents.add(o.IntentRight)
		if want == understand.StopMessages {
			t.optOut.add(o.Got.Intent == understand.StopMessages)
		} else {
			t.falseOptOut.add(o.Got.Intent == understand.StopMessages)
		}
	}
	return t
}

func (t *totals) hazards(o Outcome) {
	want := o.Sample.Want
	t.severity.add(want.Severity == o.Got.Severity)
	switch want.Severity {
	case safety.Emergency:
		t.emergencies.add(o.Got.Severity == safety.Emergency)
	case safety.NoSeverity:
		t.harmlessEmergency.add(o.Got.Severity == safety.Emergency)
		t.harmlessRaised.add(o.Got.Severity != safety.NoSeverity)
	}
	if want.Hazard != safety.NoHazard {
		t.hazardKind.add(want.Hazard == o.Got.Hazard)
	}
}

func (t *totals) values(o Outcome) {
	want := o.Sample.Want
	for range want.Readings {
		t.missed.of++
	}
	t.missed.n += len(o.Missed)
	t.wrong.of += len(o.Got.Readings)
	t.wrong.n += len(o.Wrong)
	if want.Clarify {
		t.acted.add(o.ActedNotAsked)
	} else {
		t.needless.add(o.AskedNeedlessly)
	}
	if want.Volume != nil {
		t.volumes.add(o.VolumeRight)
	} else {
		t.volumesInvented.add(o.Got.Volume != nil)
	}
}

// WriteTotals prints the figures the project holds itself to.
func (r Report) WriteTotals(w io.Writer) {
	t := r.totals()
	for _, line := range []struct {
		name  string
		value share
	}{
		{"texts with the right intent", t.intents},
		{"emergencies seen as emergencies", t.emergencies},
		{"harmless texts raised as emergency", t.harmlessEmergency},
		{"harmless texts raised as anything", t.harmlessRaised},
		{"texts with the right severity", t.severity},
		{"hazards named right", t.hazardKind},
		{"opt-outs seen", t.optOut},
		{"other texts taken for an opt-out", t.falseOptOut},
		{"readings missed", t.missed},
		{"readings invented or wrong", t.wrong},
		{"acted on where one should ask", t.acted},
		{"asked back needlessly", t.needless},
		{"volumes right", t.volumes},
		{"volumes invented", t.volumesInvented},
	} {
		fmt.Fprintf(w, "%-36s %s\n", line.name, line.value)
	}
}

// WriteConfusion prints precision and recall of each intent and hazard, and what each
// was most often taken for.
func (r Report) WriteConfusion(w io.Writer) {
	intents, hazards := newTable(), newTable()
	for _, o := range r.outcomes {
		intents.add(string(o.Sample.Want.Intent), string(o.Got.Intent))
		hazards.add(string(o.Sample.Want.Hazard)+"/"+string(o.Sample.Want.Severity), string(o.Got.Hazard)+"/"+string(o.Got.Severity))
	}
	intents.write(w, "intent")
	hazards.write(w, "hazard")
}

type table struct {
	cells      map[[2]string]int
	want, have map[string]int
}

func newTable() table {
	return table{map[[2]string]int{}, map[string]int{}, map[string]int{}}
}

func (t table) add(want, have string) {
	t.cells[[2]string{want, have}]++
	t.want[want]++
	t.have[have]++
}

func (t table) write(w io.Writer, title string) {
	labels := make([]string, 0, len(t.want))
	for l := range t.want {
		labels = append(labels, l)
	}
	sort.Strings(labels)
	fmt.Fprintf(w, "\n%-44s %5s %9s %6s  taken for\n", title, "texts", "precision", "recall")
	for _, l := range labels {
		right := t.cells[[2]string{l, l}]
		precision := "-"
		if t.have[l] > 0 {
			precision = fmt.Sprintf("%.3f", float64(right)/float64(t.have[l]))
		}
		fmt.Fprintf(w, "%-44s %5d %9s %6.3f  %s\n", l, t.want[l], precision, float64(right)/float64(t.want[l]), t.takenFor(l))
	}
}

func (t table) takenFor(want string) string {
	type wrong struct {
		have string
		n    int
	}
	var list []wrong
	for cell, n := range t.cells {
		if cell[0] == want && cell[1] != want {
			list = append(list, wrong{cell[1], n})
		}
	}
	sort.Slice(list, func(i, j int) bool {
		return list[i].n > list[j].n || list[i].n == list[j].n && list[i].have < list[j].have
	})
	out := ""
	for i, x := range list {
		if i == 4 {
			break
		}
		out += fmt.Sprintf("%s %d  ", x.have, x.n)
	}
	return out
}

// WriteErrors lists every text that was understood wrongly, and how.
func (r Report) WriteErrors(w io.Writer) {
	for _, o := range r.outcomes {
		want, got := o.Sample.Want, o.Got
		line := ""
		if !o.IntentRight {
			line += fmt.Sprintf(" INTENT %s%s not %s%s;", want.Intent, colon(want.Service), got.Intent, colon(got.Service))
		}
		if want.Severity != got.Severity || want.Hazard != got.Hazard {
			line += fmt.Sprintf(" HAZARD %s %s not %s %s;", want.Hazard, want.Severity, got.Hazard, got.Severity)
		}
		if len(o.Missed) > 0 {
			line += fmt.Sprintf(" MISSED %v;", o.Missed)
		}
		if len(o.Wrong) > 0 {
			line += fmt.Sprintf(" WRONG %v;", o.Wrong)
		}
		if !o.VolumeRight {
			line += fmt.Sprintf(" VOLUME want %s got %s;", volumeText(want.Volume), gotVolume(got.Volume))
		}
		if o.ActedNotAsked {
			line += " ACTED;"
		}
		if o.AskedNeedlessly {
			line += fmt.Sprintf(" NEEDLESS %s;", got.ClarifyWhy)
		}
		if line != "" {
			fmt.Fprintf(w, "%s [%s %s %v] %q\n   %s\n", o.Sample.Label, o.Sample.Asked, o.Sample.Step, o.Sample.AskedReadings, *o.Sample.Text, line)
		}
	}
}

func colon(s string) string {
	if s == "" {
		return ""
	}
	return ":" + s
}

func volumeText(v *Volume) string {
	switch {
	case v == nil:
		return "none"
	case v.Unknown:
		return "unknown"
	case v.Dimensions:
		return "dimensions " + show(v.USGal)
	}
	return show(v.USGal)
}

func gotVolume(v *understand.Volume) string {
	if v == nil {
		return "none"
	}
	data, err := v.MarshalJSON()
	if err != nil {
		return err.Error()
	}
	return string(data)
}

// Join adds the outcomes of another report, as when one writer after the other is left out.
func (r Report) Join(other Report) Report {
	return Report{append(r.outcomes, other.outcomes...)}
}
