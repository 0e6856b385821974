package understand

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"tubhand/internal/safety"
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

func (n *named) add(kind byte, a, b, c string) {
	n.hashes.add(kind, a, b, c)
	n.names = append(n.names, strings.TrimSpace(string(kind)+" "+a+" "+b+" "+c))
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
	if r.model == nil {
		return m, Explanation{}
	}
	shares := r.model.Shares(n.hashes)
	return m, Explanation{
		Severities: r.danger(shares[askHazard]).share,
		Hazard:     r.strongest(n, askHazard, string(m.Hazard)+" "+string(m.Severity)),
		Intent:     r.strongest(n, askIntent, strings.TrimSpace(string(m.Intent)+" "+m.Service)),
	}
}

// strongest lists the features that weighed most for or against one class.
func (r *Reader) strongest(n named, question int, class string) []Weight {
	k := slices.Index(r.model.Classes(question), class)
	if k < 0 {
		return nil
	}
	var out []Weight
	for i, w := range r.model.Weights(n.hashes, question, k) {
		if w != 0 {
			out = append(out, Weight{n.names[i], w})
		}
	}
	slices.SortStableFunc(out, func(a, b Weight) int { return cmp.Compare(math.Abs(b.Weight), math.Abs(a.Weight)) })
	return out[:min(len(out), 12)]
}
