package understand

import "tubhand/internal/safety"

// askQuality asks back where words stand in place of numbers: "looks ok", "purple",
// "bleached white".
func (in *input) askQuality(f *found, names []name, taken map[int]bool, numbers []amount, notes []note, clause []int, dropped sign) {
	if in.ctx.Asked != AskedReadings {
		return
	}
	for k, n := range names {
		if !taken[k] && in.qualityIn(clause[n.from], notes, clause) {
			if _, ok := f.readings[n.quantity]; !ok {
				f.attempt = true
				f.ask("words where a number is needed")
			}
		}
	}
}

// askInVain asks back where an answer was given to a question for numbers and no
// number could be taken, or words of quality stand where one is missing.
func (in *input) askInVain(m *Meaning) {
	switch m.Intent {
	case WrongNumber, StopMessages, Abuse, TalkToHuman, CannotFindPart, NotYet, ScheduleLater:
		in.dropUnknown(m)
	}
	if m.Clarify {
		return
	}
	if in.oneBareNumber() && !in.wantsNumber() {
		m.Intent, m.Service = Other, ""
		m.Clarify, m.ClarifyWhy = true, "a number nobody asked for"
		return
	}
	if in.ctx.Asked == AskedReadings && len(m.Readings) == 0 && m.dropped&(signOtherWater|signOld|signTarget) != 0 && m.Intent != NotYet && m.Intent != ScheduleLater {
		m.Clarify, m.ClarifyWhy = true, "the numbers are not this tub's now"
		return
	}
	if m.Intent == Other && len(in.tokens) <= 4 && (in.ctx.Asked == AskedReadings || in.ctx.Asked == AskedVolume) && in.speaksOfQuality() {
		m.Intent = Answer
	}
	if m.Intent == Other && m.Severity == safety.NoSeverity && len(m.Readings) == 0 && m.Volume == nil && in.wantsAnswer() ||
		m.Intent == QuestionDose && in.ctx.Asked == AskedVolume && m.Volume == nil {
		m.Clarify, m.ClarifyWhy = true, "that does not answer what was asked"
	}
	if m.Intent != Answer {
		return
	}
	missing := in.ctx.Asked == AskedVolume && m.Volume == nil
	if in.ctx.Asked == AskedReadings {
		open := 0
		for _, q := range in.ctx.AskedReadings {
			if _, ok := m.Readings[q]; !ok {
				open++
			}
		}
		missing = open > 0 && (len(m.Readings) == 0 || in.speaksOfQuality()) || len(m.Readings) > 0 && in.stripsTooOld()
	}
	if missing {
		m.Clarify, m.ClarifyWhy = true, "no number where one is needed"
	}
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

// takeTemperature takes a number with degrees, or in talk of heat, as the water's.
func (in *input) takeTemperature(f *found, numbers []amount, pairs []int) {
	if in.asks(WaterTemp) {
		return
	}
	for k, a := range numbers {
		if pairs[k] >= 0 {
			continue
		}
		if in.waterAt(a) {
			in.store(f, WaterTemp, a)
			continue
		}
		if in.stepHeat(f, a) {
			in.store(f, WaterTemp, a)
			continue
		}
		withUnit := a.unit == fahrenheit || a.unit == celsius || a.unit == degrees
		v := a.value.ends()
		if !withUnit && !(a.unit == noUnit && in.heats() && len(f.readings) == 0 && v[0] >= 50 && v[0] <= 125 && in.reportsHeat(a)) {
			continue
		}
		attempt := f.attempt
		in.store(f, WaterTemp, a)
		f.attempt = attempt
	}
}

// waterAt knows "the water's at 107".
func (in *input) waterAt(a amount) bool {
	x := first(a.value)
	return a.unit == noUnit && x >= 80 && x <= 125 && in.word(a.from-1, "at", "is", "a", "en", "hit", "reads") &&
		(in.word(a.from-2, "water", "waters", "agua", "its", "is") && (in.hasWord("water", "waters", "agua")))
}

// stepHeat knows "its 102" from someone who waits at the tub.
func (in *input) stepHeat(f *found, a amount) bool {
	x := first(a.value)
	return (in.ctx.Step == "soak" || in.ctx.Step == "heat") && in.ctx.Asked == AskedNothing && len(f.readings) == 0 && a.unit == noUnit && x >= 60 && x <= 115 &&
		(in.word(a.from-1, "its", "at", "on", "marca", "a", "en") || in.word(a.from-1, "is", "esta") && in.word(a.from-2, "it", "water", "tub", "agua"))
}

// reportsHeat wants a word of reading or staying before a number without a unit.
func (in *input) reportsHeat(a amount) bool {
	for i := max(0, a.from-3); i < a.from; i++ {
		if in.word(i, "at", "still", "reads", "reading", "says", "showing", "shows", "to", "only", "hit", "marca", "en", "dice", "llego", "a", "sigue", "de", "its", "is", "temp", "now", "hits", "about", "subio", "esta", "like", "around", "past", "over", "reached", "got") {
			return true
		}
	}
	return a.from == 0 || in.mark(a.from-1, ".,!;") || in.word(a.to, "marca", "dice", "now", "degrees")
}
