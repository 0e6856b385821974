package understand

// choice reads which of the offered options was picked.
func (in *input) choice(m *Meaning) bool {
	return false
}
