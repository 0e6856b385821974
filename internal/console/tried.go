package console

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"tubhand/internal/conversation"
	"tubhand/internal/safety"
	"tubhand/internal/understand"
)

// tried is what became of a text that was tried.
type tried struct {
	Facts    [][2]string // what was understood, in pairs of a name and words
	Hazard   string      // "" for none
	Severity string
	Tag      string
	Beliefs  []belief
	Danger   []cueWeight // what weighed for or against an emergency
	Intent   []cueWeight // what weighed for what it was taken for
	Clarify  string
	Said     []string
	Calls    []string // who would be called, and why
	Asked    string   // what the assistant had asked
	Step     string
	Decided  bool // there is somebody to say what would be said
}

// belief is how much the reader believes in a severity.
type belief struct {
	Words   string
	Percent int
}

// cueWeight is something in the text that weighed.
type cueWeight struct {
	Words  string
	Weight string
	For    bool
}

func (s *site) tried(v tryView) *tried {
	now := s.Clock.Now()
	c := s.standing(v, now)
	ctx := s.hearingOf(&c, v.Language)
	m, why := understand.BuiltIn().Explain(v.Text, ctx)
	t := &tried{Facts: factsOf(&m), Beliefs: beliefsOf(why.Severities), Danger: cuesOf(why.Hazard), Intent: cuesOf(why.Intent), Asked: askedWords(ctx), Decided: s.Decider != nil}
	if ctx.Step != "" {
		t.Step = stepWords(ctx.Step)
	}
	if m.Hazard != "" && m.Hazard != safety.NoHazard {
		t.Hazard, t.Severity, t.Tag = plain(string(m.Hazard)), string(m.Severity), severityWords(string(m.Severity))
	}
	if m.Clarify {
		t.Clarify = cmp.Or(plain(m.ClarifyWhy), "It could mean more than one thing")
	}
	if s.Decider == nil {
		return t
	}
	_, fx := s.Decider.Decide(c, conversation.Event{ID: "try-2", Kind: conversation.TextIn, From: c.ID, Text: v.Text, TimeZone: s.Shop.TimeZone, Region: s.Shop.Region}, now)
	for _, l := range fx.Lines {
		if l.Direction == conversation.Out && l.Send {
			t.Said = append(t.Said, l.Text)
		}
	}
	for _, h := range fx.Handovers {
		if h.Closed.IsZero() {
			t.Calls = append(t.Calls, plain(h.Cause)+", "+lower(severityWords(h.Severity)))
		}
	}
	return t
}

// factsOf lists what was understood.
func factsOf(m *understand.Meaning) (facts [][2]string) {
	add := func(name, words string) {
		if words != "" {
			facts = append(facts, [2]string{name, words})
		}
	}
	add("Taken for", plain(string(m.Intent)))
	add("Service", plain(m.Service))
	add("Choice", plain(m.Choice))
	for _, q := range understand.AllQuantities() {
		if value, ok := m.Readings[q]; ok {
			name, unit := quantityWords(q)
			add(name, strings.TrimSpace(valueWords(value)+" "+unit))
		}
	}
	if m.Volume != nil {
		add("Volume", volumeWords(m.Volume))
	}
	add("When", m.When)
	add("Error code", m.ErrorCode)
	add("Language", languageWords(m.Language))
	return facts
}

func volumeWords(v *understand.Volume) string {
	if v.Unknown {
		return "not known"
	}
	words := valueWords(understand.Value{Low: math.Round(v.LowUSGal), High: math.Round(v.HighUSGal), OpenLow: v.OpenLow, OpenHigh: v.OpenHigh}) + " US gallons"
	if v.Dimensions != nil {
		words += " of space, from its measures"
	}
	return words
}

// beliefsOf lists how much is believed of each severity, worst first.
func beliefsOf(shares map[safety.Severity]float64) (out []belief) {
	for _, severity := range []safety.Severity{safety.Emergency, safety.PersonSoon, safety.Technician, safety.NoSeverity} {
		if share, ok := shares[severity]; ok {
			words := severityWords(string(severity))
			if severity == safety.NoSeverity {
				words = "No danger"
			}
			out = append(out, belief{words, int(math.Round(100 * share))})
		}
	}
	return out
}

// mostCues is how many cues are shown of each kind.
const mostCues = 8

// cuesOf words what weighed. The same pieces may count more than once: they are added up.
func cuesOf(weights []understand.Weight) []cueWeight {
	sums, order := map[string]float64{}, []string{}
	for _, w := range weights {
		words := cueWords(w.Feature)
		if _, known := sums[words]; !known {
			order = append(order, words)
		}
		sums[words] += w.Weight
	}
	slices.SortStableFunc(order, func(a, b string) int { return cmp.Compare(math.Abs(sums[b]), math.Abs(sums[a])) })
	var out []cueWeight
	for _, words := range order[:min(len(order), mostCues)] {
		out = append(out, cueWeight{words, fmt.Sprintf("%+.1f", sums[words]), sums[words] > 0})
	}
	return out
}

// cueWords puts a feature of the reader into words: the first letter is its kind, as in
// package understand.
func cueWords(feature string) string {
	kind, rest, _ := strings.Cut(feature, " ")
	quoted := `"` + strings.NewReplacer("^", "(beginning)", "$", "(end)").Replace(strings.TrimSpace(rest)) + `"`
	switch kind {
	case "w", "b":
		return quoted
	case "s":
		return quoted + ", with a word between"
	case "f":
		return "begins with " + quoted
	case "l":
		return "ends with " + quoted
	case "n":
		return "the letters " + quoted
	case "c":
		return "the idea " + quoted
	case "k", "K":
		return "the wording " + quoted
	case "F", "H":
		return "found: " + strings.TrimSpace(rest)
	case "a", "g":
		return "asked or step: " + lower(plain(rest))
	case "h":
		return "its length"
	case "A", "B", "G":
		return quoted + " here"
	}
	return quoted
}

// askedWords tells what had been asked.
func askedWords(ctx understand.Context) string {
	var of []string
	for _, q := range ctx.AskedReadings {
		name, _ := quantityWords(q)
		of = append(of, name)
	}
	for _, c := range ctx.Choices {
		of = append(of, lower(plain(c.Name)))
	}
	words := plain(string(ctx.Asked))
	if len(of) > 0 {
		words += ": " + strings.Join(of, ", ")
	}
	return words
}
