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
	for i := range in.tokens {
		switch {
		case in.word(i, "not") && in.word(i+1, "sure", "certain", "confident") && i > 1,
			in.word(i, "cant", "dont") && in.word(i+1, "see") && in.word(i+2, "well", "good", "it", "them", "so") && in.hasWord("well", "good", "clearly"),
			in.word(i, "old") && in.word(i+1, "strips") || in.word(i, "strips", "tiras") && in.word(i+1, "are", "is", "estan") && in.word(i+2, "old", "ancient", "viejas", "shot"),
			in.word(i, "could") && in.word(i+1, "be") && in.word(i+2, "anything", "wrong", "off"),
			in.word(i, "no") && in.word(i+1, "estoy", "veo") && in.word(i+2, "seguro", "segura", "bien"),
			in.word(i, "so", "but", "pero") && in.word(i+1, "idk", "dunno") || in.word(i, "so", "but") && in.word(i+1, "who") && in.word(i+2, "knows"),
			in.word(i, "expired", "vencidas", "caducas", "caducadas", "vencidas", "vencieron", "caducaron"),
			in.word(i, "without", "sin") && in.word(i+1, "glasses", "lentes", "my") && in.hasWord("glasses", "lentes"),
			in.word(i, "dont") && in.word(i+1, "trust") && in.word(i+2, "it", "this", "these", "them", "the"), in.word(i, "no") && in.word(i+1, "me") && in.word(i+2, "fio", "confio"):
			return true
		}
	}
	return in.hasWord("colorblind", "daltonico", "daltonica") || in.hasWord("but", "pero") && in.hasWord("idk", "dunno") && in.bleached()
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
	switch {
	case in.notNow(m):
		m.askBack("the numbers are not this tub's now")
	case in.missesNumber(m):
		m.askBack("no number where one is needed")
	case in.ctx.Asked == AskedReadings && len(m.Readings) == 0 && in.looksDone(m) && in.speaksOfQuality():
		m.askBack("words where a number is needed")
	case (m.Intent == Yes || m.Intent == Done || m.Intent == No) && m.Severity == safety.NoSeverity && len(m.Readings) == 0 && m.Volume == nil && (in.ctx.Asked == AskedReadings || in.ctx.Asked == AskedVolume):
		m.askBack("no number where one is needed")
	case in.answersNothing(m):
		m.askBack("that does not answer what was asked")
	}
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

// takeTemperature takes a number with degrees, or in talk of heat, as the water's.
func (in *input) takeTemperature(f *found, numbers []amount, pairs []int) {
	if in.asks(WaterTemp) || in.asksHowLong() {
		return
	}
	for k, a := range numbers {
		if pairs[k] >= 0 || in.isStep(a) || in.isAge(a) {
			continue
		}
		if x := first(a.value); a.unit == noUnit && x >= 5 && x < 46 && in.language() == "es" && in.heats() && in.word(a.from-1, "marca", "marcando", "dice") && len(f.readings) == 0 {
			a.unit = celsius
			in.store(f, WaterTemp, a)
			continue
		}
		if in.panelShows(f, a) {
			in.store(f, WaterTemp, a)
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
		if first(convert(WaterTemp, a)) < 40 {
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
	if a.unit == noUnit && x >= 60 && x <= 112 && in.word(a.from-1, "water", "agua") && !in.asksVolume() && in.endsClause(a.to-1) {
		return true
	}
	return a.unit == noUnit && x >= 50 && x <= 125 && in.word(a.from-1, "at", "is", "a", "en", "hit", "reads", "trae", "marca", "anda", "esta") &&
		(in.word(a.from-2, "water", "waters", "agua", "its", "is") && (in.hasWord("water", "waters", "agua")))
}

// asksHowLong knows "how many minutes to heat 20 degrees": nothing in it is measured.
func (in *input) asksHowLong() bool {
	for i := range in.tokens {
		if in.word(i, "when") && in.word(i+1, "does", "will", "do", "should") || in.word(i, "cuando") && in.word(i+1, "llega", "llegara", "va", "estara") {
			return true
		}
		if in.word(i, "how") && in.word(i+1, "long", "many", "much") || in.word(i, "cuanto", "cuanta", "cuantos") && in.word(i+1, "tiempo", "tarda", "minutos", "falta", "rato") {
			return !in.hasWord("now", "currently", "ahora", "ahorita", "marca", "is", "its", "at", "esta", "reads", "says")
		}
	}
	return false
}

// isStep knows "dropping two degrees every hour": a change, no temperature.
func (in *input) isStep(a amount) bool {
	return in.word(a.to, "every", "per", "an", "each", "cada", "por", "more", "mas", "less", "menos") || in.word(a.from-1, "dropping", "losing", "gaining", "lost", "dropped", "drops", "rose", "climbed", "fell", "swings", "raise", "raised", "lower", "lowered", "cayo", "perdio", "gano", "another", "gained", "otros", "subio", "bajo", "by", "only", "never", "reached") && first(a.value) < 40 ||
		in.word(a.from-1, "reached", "hit", "hits") && in.word(a.from-2, "never", "not", "hasnt", "didnt")
}

// isAge knows "mother is 88" and "una viejita de 80".
func (in *input) isAge(a amount) bool {
	for i := a.from - 1; i >= 0 && i >= a.from-4; i-- {
		if isPerson(in.tokens[i].Text) {
			return a.unit == noUnit && (in.word(a.from-1, "is", "de", "es", "tiene", "turned", "age", "whos", "cumplio", "at", "was") || i == a.from-1)
		}
	}
	return false
}

func isPerson(w string) bool {
	switch w {
	case "mother", "mom", "mum", "father", "dad", "grandma", "grandpa", "grandmother", "grandfather", "nana", "gran", "granny", "aunt", "uncle", "wife", "husband", "son", "daughter", "boy", "girl", "kid", "baby",
		"he", "she", "hes", "shes", "mama", "papa", "abuela", "abuelo", "viejita", "viejito", "senora", "senor", "suegra", "suegro", "tia", "tio", "hijo", "hija", "nino", "nina", "nieto", "nieta", "esposa", "esposo", "im", "boys", "girls":
		return true
	}
	return false
}

// panelShows knows "marca 110 el panel" where nothing but heat is read so.
func (in *input) panelShows(f *found, a amount) bool {
	x := first(a.value)
	if a.unit != noUnit || x < 90 || x > 125 || len(f.readings) > 0 || in.ctx.Asked == AskedReadings || in.ctx.Asked == AskedVolume || in.hasWord("strip", "strips", "tira", "tiras", "tirita", "test", "kit") {
		return false
	}
	if x >= 104.5 && x <= 120 && in.word(a.from-1, "its", "it", "still", "at", "tubs", "tub", "waters", "glorious", "hit", "hits", "spas", "reached") && !in.word(a.from-2, "set") {
		return true
	}
	return in.word(a.from-1, "marca", "marcaba", "marco", "reads", "shows", "says", "reading", "showing") || in.word(a.from-1, "waters")
}

// stepHeat knows "its 102" from someone who waits at the tub.
func (in *input) stepHeat(f *found, a amount) bool {
	x := first(a.value)
	return (in.ctx.Step == "soak" || in.ctx.Step == "heat") && (in.ctx.Asked == AskedNothing || in.ctx.Asked == AskedDone) && len(f.readings) == 0 && a.unit == noUnit && x >= 60 && x <= 115 &&
		(in.word(a.from-1, "its", "at", "on", "marca", "a", "en") || in.word(a.from-1, "is", "esta") && in.word(a.from-2, "it", "water", "tub", "agua"))
}

// reportsHeat wants a word of reading or staying before a number without a unit.
func (in *input) reportsHeat(a amount) bool {
	for i := max(0, a.from-3); i < a.from; i++ {
		if in.word(i, "at", "still", "reads", "reading", "says", "showing", "shows", "to", "only", "hit", "marca", "en", "dice", "llego", "a", "sigue", "de", "its", "is", "temp", "now", "hits", "about", "subio", "esta", "hasta", "on", "like", "around", "past", "over", "reached", "got") {
			return true
		}
	}
	return a.from == 0 || in.mark(a.from-1, ".,!;") || in.word(a.to, "marca", "dice", "now", "degrees")
}
