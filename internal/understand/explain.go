package understand

import (
	"sort"

	"tubhand/internal/safety"
	"tubhand/internal/understand/learn"
)

// Explanation tells why a text was understood as it was: the classifier's shares of
// belief (0 to 1) in each severity, and the features that weighed most.
type Explanation struct {
	Severities map[safety.Severity]float64
	Hazard     []Weight // for and against an emergency
	Intent     []Weight // for the intent chosen
}

// Weight is one feature and what it weighed; more than 0 speaks for, less against.
type Weight struct {
	Feature string
	Weight  float64
}

// named is a sink that keeps names beside hashes.
type named struct {
	hashes
	names []string
}

func (n *named) add(kind byte, parts ...string) {
	n.hashes.add(kind, parts...)
	name := string(kind)
	for _, p := range parts {
		name += " " + p
	}
	n.names = append(n.names, name)
}

// Explain understands a text and tells why.
func (r *Reader) Explain(text string, ctx Context) (Meaning, Explanation) {
	m := r.Understand(text, ctx)
	in := prepare(text, ctx)
	plain := Meaning{Language: in.language()}
	in.values(&plain)
	e := in.evidence(&plain)
	var n named
	e.write(&n)
	x := Explanation{Severities: r.danger(n.hashes).share}
	x.Hazard = strongest(r.hazard, n, string(m.Hazard)+" "+string(m.Severity))
	x.Intent = strongest(r.intent, n, string(m.Intent))
	return m, x
}

// strongest lists the features that weighed most for or against one class.
func strongest(model *learn.Model, n named, class string) []Weight {
	if model == nil {
		return nil
	}
	var out []Weight
	for k, c := range model.Classes() {
		if c != class {
			continue
		}
		for i, f := range n.hashes {
			if w := model.Weight(f, k); w != 0 {
				out = append(out, Weight{n.names[i], w})
			}
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return abs(out[i].Weight) > abs(out[j].Weight) })
	return out[:min(len(out), 12)]
}

func abs(x float64) float64 {
	if x < 0 {
		return -x
	}
	return x
}
