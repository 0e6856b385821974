package understand

func (in *input) readings(m *Meaning) Readings { return nil }

func (in *input) volume(m *Meaning) *Volume { return nil }
