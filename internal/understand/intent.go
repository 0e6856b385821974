package understand

// intent weighs the signs of each intent.
func (in *input) intent(m *Meaning) Intent {
	if len(m.Readings) > 0 || m.Volume != nil {
		return Answer
	}
	counts := map[string]int{}
	best, most := string(Other), 0
	for _, h := range loadCues().intents.Find(in.atoms) {
		label := h.Pattern.Label
		counts[label] += h.End - h.Start
		if counts[label] > most {
			best, most = label, counts[label]
		}
	}
	return Intent(best)
}
