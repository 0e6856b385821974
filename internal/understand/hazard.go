package understand

import (
	"strings"

	"tubhand/internal/safety"
)

// Thresholds on shares of belief. A false alarm costs one handover and a miss can cost
// a life, so an emergency needs far less than half.
const (
	emergencyShare = 0.30
	raisedShare    = 0.50
)

// danger is what the classifier believes: a share for each severity, and the likeliest
// hazard within each.
type danger struct {
	share  map[safety.Severity]float64
	hazard map[safety.Severity]safety.Hazard
}

func (r *Reader) danger(features []uint32) danger {
	d := danger{map[safety.Severity]float64{}, map[safety.Severity]safety.Hazard{}}
	if r.hazard == nil {
		return d
	}
	sums := make([]int32, len(r.hazard.Classes()))
	r.hazard.Score(features, sums)
	best := map[safety.Severity]float64{}
	for i, p := range r.hazard.Probabilities(sums, len(features)) {
		name, severity, _ := strings.Cut(r.hazard.Classes()[i], " ")
		s := safety.Severity(severity)
		d.share[s] += p
		if p > best[s] {
			best[s], d.hazard[s] = p, safety.Hazard(name)
		}
	}
	return d
}

// classifyHazard returns the danger in the text.
func (r *Reader) classifyHazard(e *evidence, features []uint32, m *Meaning) (safety.Hazard, safety.Severity) {
	return r.danger(features).decide()
}

// decide takes the worst severity that has share enough; what a worse one has short of
// its own threshold counts for the milder.
func (d danger) decide() (safety.Hazard, safety.Severity) {
	if d.share[safety.Emergency] >= emergencyShare {
		return d.hazard[safety.Emergency], safety.Emergency
	}
	if 1-d.share[safety.NoSeverity] < raisedShare || len(d.share) == 0 {
		return safety.NoHazard, safety.NoSeverity
	}
	s := safety.Technician
	if d.share[safety.PersonSoon]+d.share[safety.Emergency] > d.share[safety.Technician] {
		s = safety.PersonSoon
	}
	if d.hazard[s] == "" {
		return safety.NoHazard, safety.NoSeverity
	}
	return d.hazard[s], s
}
