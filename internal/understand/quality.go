package understand

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
	if len(names) > 0 || len(numbers) > 0 || len(f.readings) > 0 || dropped != 0 {
		return
	}
	for _, x := range notes {
		if x.sign == signQuality {
			f.attempt = true
			f.ask("words where a number is needed")
		}
	}
}

func (in *input) qualityIn(at int, notes []note, clause []int) bool {
	for _, x := range notes {
		if x.sign == signQuality && clause[x.from] == at {
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

// reportsHeat wants a word of reading or staying before a number without a unit.
func (in *input) reportsHeat(a amount) bool {
	for i := max(0, a.from-3); i < a.from; i++ {
		if in.word(i, "at", "still", "reads", "reading", "says", "showing", "shows", "to", "only", "hit", "marca", "en", "dice", "llego", "a", "sigue", "de", "its", "is", "temp", "now", "hits", "about", "subio", "esta", "like", "around", "past", "over", "reached", "got") {
			return true
		}
	}
	return a.from == 0 || in.endsClause(a.from-1) || in.word(a.to, "marca", "dice", "now", "degrees")
}
