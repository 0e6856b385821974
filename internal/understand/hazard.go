package understand

import (
	"strings"

	"tubhand/internal/safety"
)

// classifyHazard returns the danger in the text.
func (r *Reader) classifyHazard(e *evidence, features []uint32, m *Meaning) (safety.Hazard, safety.Severity) {
	if r.hazard == nil {
		return safety.NoHazard, safety.NoSeverity
	}
	sums := make([]int32, len(r.hazard.Classes()))
	r.hazard.Score(features, sums)
	p := r.hazard.Probabilities(sums, len(features))
	best := 0
	for i := range p {
		if p[i] > p[best] {
			best = i
		}
	}
	name, severity, _ := strings.Cut(r.hazard.Classes()[best], " ")
	return safety.Hazard(name), safety.Severity(severity)
}
