package understand

// takeTemperature takes a number with degrees, or in talk of heat, as the water's.
func (in *input) takeTemperature(f *found, numbers []amount, pairs []int) {
	if in.asks(WaterTemp) || in.asksHowLong() {
		return
	}
	for k, a := range numbers {
		if pairs[k] >= 0 || in.isStep(a) || in.isAge(a) || in.isNoWaterHeat(a) {
			continue
		}
		switch {
		case in.marksCelsius(f, a):
			a.unit = celsius
			in.store(f, WaterTemp, a)
		case in.panelShows(f, a), in.waterAt(a), in.stepHeat(f, a):
			in.store(f, WaterTemp, a)
		case in.isHeat(f, a):
			attempt := f.attempt
			in.store(f, WaterTemp, a)
			f.attempt = attempt
		}
	}
}

// marksCelsius knows "marca 38" in Spanish talk of heat.
func (in *input) marksCelsius(f *found, a amount) bool {
	x := first(a.value)
	return a.unit == noUnit && x >= 5 && x < 46 && in.language() == "es" && in.heats() && in.word(a.from-1, "marca", "marcando", "dice") && len(f.readings) == 0
}

// isHeat reports whether the number has degrees, or is told in talk of heat and can be the water's.
func (in *input) isHeat(f *found, a amount) bool {
	if first(convert(WaterTemp, a)) < 40 {
		return false
	}
	if a.unit != noUnit {
		return a.unit == fahrenheit || a.unit == celsius || a.unit == degrees
	}
	x := first(a.value)
	return in.heats() && len(f.readings) == 0 && x >= 50 && x <= 125 && in.reportsHeat(a)
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

// isNoWaterHeat knows numbers in talk of heat that nobody measured in the water: those
// of a person ("a temp of 101 and aches"), of a question ("is 100 alright for me?"), of a
// setting or a code, and those that were never reached.
func (in *input) isNoWaterHeat(a amount) bool {
	for i := a.from - 1; i >= max(0, a.from-4); i-- {
		if in.word(i, "never", "nunca", "lived", "code", "codigo", "route", "highway", "till", "number", "thermostat", "termostato", "turned", "poner", "ponerla", "mantenerla", "llegando") {
			return true
		}
		if in.mark(i, ".!?;") {
			break
		}
	}
	return in.isBodyHeat(a) || in.asksLeave(a)
}

// isBodyHeat knows "my boy's got a temp of 101" and "temperature of 101.5, achy".
func (in *input) isBodyHeat(a amount) bool {
	if x := first(a.value); x > 106 && a.unit != celsius || !in.hasWord("temp", "temperature", "temperatura") {
		return false
	}
	return in.hasWord("achy", "aches", "ache", "flu", "cough", "rash", "fever", "chills", "sick", "escalofrios", "tos", "ronchas", "gripe") && !in.hasWord("water", "tub", "spa", "agua", "tina")
}

// asksLeave reports whether the number stands in a question whether so much heat is good.
func (in *input) asksLeave(a amount) bool {
	end := a.to
	for end < len(in.tokens) && !in.mark(end, ".!?;") {
		end++
	}
	if in.hasWord("reads", "marca", "still", "stuck", "now", "says", "dice", "its", "sigue", "waters") {
		return false
	}
	asks := in.mark(end, "?") || in.word(a.from-1, "is", "at", "a") && in.hasWord("doctor")
	return asks && in.hasWord("ok", "okay", "alright", "safe", "too", "fine", "bad", "peligroso", "dano", "malo", "puede", "puedo", "se", "can", "hurt", "kill", "muere", "pasa", "gasta", "demasiado")
}
