package understand

// confirm settles "Did you mean 7.4?": a yes returns what was proposed, another number
// of the same kind replaces it.
func (in *input) confirm(m *Meaning) bool {
	if in.ctx.Asked != AskedConfirm || len(in.ctx.Proposed) == 0 {
		return false
	}
	return false
}
