package understand

import "tubhand/internal/safety"

// askQuality asks back where words stand in place of numbers: "looks ok", "purple",
// "bleached white".
func (in *input) askQuality(f *found, names []name, taken map[int]bool, numbers []amount, notes []note, clause []int, dropped sign) {
	if in.ctx.Asked != AskedReadings {
		return
	}
	if len(f.readings) > 0 && in.doubtsOwnEyes(f) {
		f.ask("not sure about it")
	}
	for k, n := range names {
		if _, ok := f.readings[n.quantity]; !ok && !taken[k] && in.asks(n.quantity) && len(f.readings) > 0 {
			f.ask("a reading is named and has no number")
		}
		if !taken[k] && in.qualityIn(clause[n.from], notes, clause) {
			if _, ok := f.readings[n.quantity]; !ok {
				f.attempt = true
				f.ask("words where a number is needed")
			}
		}
	}
}

// doubtsOwnEyes knows numbers told with "I wanna say" or by someone who cannot tell the
// colours apart.
func (in *input) doubtsOwnEyes(f *found) bool {
	told := false
	for _, v := range f.readings {
		told = told || !v.Unknown
	}
	if !told {
		return false
	}
	for i := range in.tokens {
		if in.word(i, "wanna", "want") && (in.word(i+1, "say") || in.word(i+1, "to") && in.word(i+2, "say")) {
			return true
		}
	}
	return in.doubtsTest() || in.hasWord("colorblind", "daltonico", "daltonica") || in.hasWord("but", "pero") && in.hasWord("idk", "dunno") && in.bleached()
}

// doubtsTest knows words that take the certainty from what was read: "so idk", "the
// strips are old", "no veo bien".
func (in *input) doubtsTest() bool {
	for i := range in.tokens {
		if in.unsureAt(i) || in.oldStripsAt(i) {
			return true
		}
	}
	return false
}

func (in *input) unsureAt(i int) bool {
	switch {
	case in.word(i, "not"):
		return i > 1 && in.word(i+1, "sure", "certain", "confident")
	case in.word(i, "no"):
		return in.word(i+1, "estoy", "veo") && in.word(i+2, "seguro", "segura", "bien") || in.word(i+1, "me") && in.word(i+2, "fio", "confio")
	case in.word(i, "so", "but", "pero"):
		return in.word(i+1, "idk", "dunno") || in.word(i+1, "who") && in.word(i+2, "knows")
	case in.word(i, "could"):
		return in.word(i+1, "be") && in.word(i+2, "anything", "wrong", "off")
	}
	return in.word(i, "cant", "dont") && in.word(i+1, "see") && in.word(i+2, "well", "good", "it", "them", "so") && in.hasWord("well", "good", "clearly")
}

func (in *input) oldStripsAt(i int) bool {
	switch {
	case in.word(i, "old"):
		return in.word(i+1, "strips")
	case in.word(i, "strips", "tiras"):
		return in.word(i+1, "are", "is", "estan") && in.word(i+2, "old", "ancient", "viejas", "shot")
	case in.word(i, "without", "sin"):
		return in.word(i+1, "glasses", "lentes", "my") && in.hasWord("glasses", "lentes")
	case in.word(i, "dont"):
		return in.word(i+1, "trust") && in.word(i+2, "it", "this", "these", "them", "the")
	}
	return in.word(i, "expired", "caducas", "caducadas", "vencidas", "vencieron", "caducaron")
}

// askInVain asks back where an answer was given to a question for numbers and no
// number could be taken, or words of quality stand where one is missing.
func (in *input) askInVain(m *Meaning) {
	switch m.Intent {
	case WrongNumber, StopMessages, Abuse, TalkToHuman, CannotFindPart, ScheduleLater, CloudyWater, GreenWater:
		in.dropUnknown(m)
	}
	if m.Clarify {
		return
	}
	if in.oneBareNumber() && !in.wantsNumber() {
		m.Intent, m.Service = Other, ""
		m.askBack("a number nobody asked for")
		return
	}
	if m.Intent == Other && len(in.tokens) <= 4 && (in.ctx.Asked == AskedReadings || in.ctx.Asked == AskedVolume) && in.speaksOfQuality() && !in.notNow(m) {
		m.Intent = Answer
	}
	if why := in.whyAskAgain(m); why != "" {
		m.askBack(why)
	}
}

// whyAskAgain returns why what was asked must be asked again, or "".
func (in *input) whyAskAgain(m *Meaning) string {
	valueless := len(m.Readings) == 0 && m.Volume == nil
	wantsValue := in.ctx.Asked == AskedReadings || in.ctx.Asked == AskedVolume
	plain := m.Intent == Yes
	switch {
	case in.notNow(m):
		return "the numbers are not this tub's now"
	case in.missesNumber(m), plain && m.Severity == safety.NoSeverity && valueless && wantsValue:
		return "no number where one is needed"
	case in.ctx.Asked == AskedReadings && len(m.Readings) == 0 && in.looksDone(m) && in.speaksOfQuality():
		return "words where a number is needed"
	case in.answersNothing(m):
		return "that does not answer what was asked"
	}
	return ""
}

func (m *Meaning) askBack(why string) { m.Clarify, m.ClarifyWhy = true, why }

// notNow reports whether readings were asked for and the numbers told are others.
func (in *input) notNow(m *Meaning) bool {
	return in.ctx.Asked == AskedReadings && len(m.Readings) == 0 && m.dropped&(signOtherWater|signOld|signTarget|signHypothetical) != 0 &&
		m.Intent != NotYet && m.Intent != ScheduleLater
}

// answersNothing reports whether a question is open and the text is no answer to it.
func (in *input) answersNothing(m *Meaning) bool {
	if m.Intent == QuestionDose {
		return in.ctx.Asked == AskedVolume && m.Volume == nil
	}
	return m.Intent == Other && m.Severity == safety.NoSeverity && len(m.Readings) == 0 && m.Volume == nil && in.wantsAnswer()
}

// missesNumber reports whether an answer lacks the number it was asked for.
func (in *input) missesNumber(m *Meaning) bool {
	if m.Intent != Answer {
		return false
	}
	if in.ctx.Asked != AskedReadings {
		return in.ctx.Asked == AskedVolume && m.Volume == nil
	}
	if len(m.Readings) > 0 && in.stripsTooOld() {
		return true
	}
	for _, q := range in.ctx.AskedReadings {
		if _, ok := m.Readings[q]; !ok {
			return len(m.Readings) == 0 || in.speaksOfQuality()
		}
	}
	return false
}

func (in *input) asksSomething() bool {
	for i := range in.tokens {
		if in.mark(i, "?¿") {
			return true
		}
	}
	return false
}

// looksDone reports whether the intent is none of those that put the test off or ask.
func (in *input) looksDone(m *Meaning) bool {
	switch m.Intent {
	case HeaterNotHeating:
		return len(in.tokens) <= 4
	case No, Yes, Done, Other, GFCITrips, Thanks, StartService, CloudyWater, GreenWater, Scale, Smell:
		return m.Severity != safety.Emergency
	}
	return false
}

// dropUnknown takes out "unknown" where the text was no answer at all.
func (in *input) dropUnknown(m *Meaning) {
	if m.Volume != nil && m.Volume.Unknown {
		m.Volume = nil
	}
	for q, v := range m.Readings {
		if v.Unknown && m.Intent != CannotFindPart {
			delete(m.Readings, q)
		}
	}
}

// oneBareNumber reports whether the text is one bare number and nothing else.
func (in *input) oneBareNumber() bool {
	seen := false
	for i := range in.tokens {
		switch {
		case in.number(i) && !seen:
			seen = true
		case in.mark(i, ".!?,"):
		default:
			return false
		}
	}
	return seen
}

func (in *input) wantsNumber() bool {
	switch in.ctx.Asked {
	case AskedReadings, AskedVolume, AskedConfirm, AskedChoice, AskedTime:
		return true
	}
	return false
}

// wantsAnswer reports whether a question is open that the text should have answered.
func (in *input) wantsAnswer() bool {
	switch in.ctx.Asked {
	case AskedReadings, AskedVolume, AskedConfirm, AskedChoice, AskedYesNo:
		return true
	}
	return false
}

// stripsTooOld knows strips past their date, which show something and mean nothing.
func (in *input) stripsTooOld() bool {
	return in.hasWord("expired", "expire", "caducadas", "caducaron", "vencidas", "vencieron", "caducada", "vencida", "outdated") && in.hasWord("strip", "strips", "tira", "tiras", "tiritas", "reagent", "kit", "drops", "test", "they")
}

func (in *input) speaksOfQuality() bool {
	for _, x := range in.findNotes() {
		if x.sign == signQuality || x.sign == signColour {
			return true
		}
	}
	return false
}

func (in *input) qualityIn(at int, notes []note, clause []int) bool {
	for _, x := range notes {
		if (x.sign == signQuality || x.sign == signColour) && clause[x.from] == at {
			return true
		}
	}
	return false
}
