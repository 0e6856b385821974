package understand

// confirm settles "Did you mean 7.4?": a yes returns what was proposed, another number
// of the same kind replaces it. It goes by the intent the classifier saw.
func (in *input) confirm(m *Meaning) {
	if in.ctx.Asked != AskedConfirm || len(in.ctx.Proposed) == 0 {
		return
	}
	same, different := in.compareProposed(m)
	switch {
	case different:
		if m.Intent != No {
			m.Intent = answerUnless(m.Intent)
		}
	case m.Intent == No && !same:
		return
	case same && m.Intent != No || m.Intent == Yes || m.Intent == Done && len(in.tokens) <= 4:
		m.Intent = Yes
		in.takeProposed(m)
	}
}

// answerUnless keeps an intent that outranks an answer.
func answerUnless(i Intent) Intent {
	switch i {
	case Yes, Done, NotYet, Other, Answer, Undo, HeaterNotHeating, Help, QuestionWhy, Thanks, WrongProduct:
		return Answer
	}
	return i
}

// compareProposed reports whether the text repeats what was proposed, or says another value.
func (in *input) compareProposed(m *Meaning) (same, different bool) {
	for name, x := range in.ctx.Proposed {
		if name == "us_gal" {
			if m.Volume == nil || m.Volume.Unknown {
				continue
			}
			if near(m.Volume.LowUSGal, x) && near(m.Volume.HighUSGal, x) {
				same = true
			} else {
				different = true
			}
			continue
		}
		v, ok := m.Readings[Quantity(name)]
		switch {
		case !ok || v.Unknown:
		case near(v.Low, x) && near(v.High, x):
			same = true
		default:
			different = true
		}
	}
	return same && !different, different
}

func near(a, b float64) bool { return a-b < 0.006*b+1e-9 && b-a < 0.006*b+1e-9 }

func (in *input) takeProposed(m *Meaning) {
	m.Clarify, m.ClarifyWhy, m.Proposal = false, "", nil
	for name, x := range in.ctx.Proposed {
		if name == "us_gal" {
			if m.Volume == nil || m.Volume.Unknown {
				m.Volume = &Volume{LowUSGal: x, HighUSGal: x}
			}
			continue
		}
		if _, ok := m.Readings[Quantity(name)]; !ok {
			m.Readings[Quantity(name)] = Value{Low: x, High: x}
		}
	}
}
