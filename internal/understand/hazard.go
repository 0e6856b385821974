package understand

import (
	"strings"

	"tubhand/internal/safety"
)

// Thresholds on shares of belief. A false alarm costs one handover and a miss can cost
// a life, so an emergency needs far less than half.
const (
	emergencyShare = 0.40
	worseShare     = 0.20 // where it is likely that something is wrong, and the question is how bad
	plainShare     = 0.01 // where the plainest words of danger stand in the text
	raisedShare    = 0.50
)

// danger is what the classifier believes: a share for each severity, and the likeliest
// hazard within each.
type danger struct {
	share  map[safety.Severity]float64
	hazard map[safety.Severity]safety.Hazard
}

func (r *Reader) danger(shares []float64) danger {
	d := danger{map[safety.Severity]float64{}, map[safety.Severity]safety.Hazard{}}
	best := map[safety.Severity]float64{}
	for i, p := range shares {
		name, severity, _ := strings.Cut(r.model.Classes(askHazard)[i], " ")
		s := safety.Severity(severity)
		d.share[s] += p
		if p > best[s] {
			best[s], d.hazard[s] = p, safety.Hazard(name)
		}
	}
	return d
}

// decide takes the worst severity that has share enough; what a worse one has short of
// its own threshold counts for the milder. plain is the danger that the plainest words
// tell of, or empty.
func (d danger) decide(plain safety.Hazard) (safety.Hazard, safety.Severity) {
	switch emergency := d.share[safety.Emergency]; {
	case emergency >= emergencyShare, emergency >= worseShare && d.share[safety.NoSeverity] < 1-raisedShare:
		return d.hazard[safety.Emergency], safety.Emergency
	case plain != "" && emergency >= plainShare:
		return plain, safety.Emergency
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
