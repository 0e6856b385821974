package understand

import "strings"

// classifyIntent returns what the owner wants; m.Service is set with StartService.
func (r *Reader) classifyIntent(e *evidence, features []uint32, m *Meaning) Intent {
	if r.intent == nil {
		return Other
	}
	sums := make([]int32, len(r.intent.Classes()))
	r.intent.Score(features, sums)
	p := r.intent.Probabilities(sums, len(features))
	best := 0
	for i := range p {
		if p[i] > p[best] {
			best = i
		}
	}
	name, service, _ := strings.Cut(r.intent.Classes()[best], " ")
	m.Service = service
	return Intent(name)
}
