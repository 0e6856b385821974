package understand

import (
	"strings"

	"tubhand/internal/safety"
)

// hazard returns the worst danger the cues see.
func (in *input) hazard() (safety.Hazard, safety.Severity) {
	hazard, severity := safety.NoHazard, safety.NoSeverity
	for _, h := range loadCues().hazards.Find(in.atoms) {
		name, sev, _ := strings.Cut(strings.TrimSuffix(h.Pattern.Label, "!"), " ")
		if s := safety.Severity(sev); s.Rank() > severity.Rank() {
			hazard, severity = safety.Hazard(name), s
		}
	}
	return hazard, severity
}
