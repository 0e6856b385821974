package understand

// isChoiceWord reports whether the whole text is one of the words offered, which say no
// danger: "after we soak".
func (in *input) isChoiceWord(bare string) bool {
	if in.ctx.Asked != AskedChoice || bare == "" {
		return false
	}
	for _, c := range in.ctx.Choices {
		if bare == c.Name {
			return true
		}
		for _, w := range c.Words {
			if bare == w {
				return true
			}
		}
	}
	return false
}

// driftsAlone knows "ph keeps dropping" and "the chlorine keeps dropping to zero
// overnight": a short text on where a reading goes, with nobody in it.
func (in *input) driftsAlone() bool {
	if len(in.tokens) > 10 {
		return false
	}
	drifts := false
	for i := range in.tokens {
		if isPerson(in.tokens[i].Text) {
			return false
		}
		if n, ok := in.nameAt(i); ok && !n.loose && in.word(n.to, "keeps", "keep", "drops", "dropping", "falls", "falling", "rises", "rising", "climbing", "sigue", "baja", "sube", "level") {
			drifts = true
		}
	}
	return drifts
}
