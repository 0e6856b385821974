package understand

import (
	"math"

	"tubhand/internal/understand/words"
)

// found gathers what the reading of one text yields.
type found struct {
	readings Readings
	why      string // why to ask back, or ""
	proposal map[string]float64
	dropped  sign              // why numbers were not taken
	attempt  bool              // the text was about readings even if none could be taken
	vague    []amount          // numbers of which it cannot be told what they are
	worded   map[Quantity]bool // told in words where a number is needed
	zeroPH   bool              // "ph 0" was said: the other zeros are no readings either
}

func (f *found) ask(why string) {
	if f.why == "" {
		f.why = why
	}
}

func (f *found) propose(q Quantity, x float64) {
	if f.proposal == nil {
		f.proposal = map[string]float64{}
	}
	f.proposal[string(q)] = x
}

// findReadings finds the values measured in this tub now.
func (in *input) findReadings() found {
	f := found{readings: Readings{}}
	if len(in.tokens) == 3 && in.text == "10-4" {
		return f
	}
	notes := in.findNotes()
	clause := in.clauses()
	names := in.names(notes)
	numbers, dead, dropped := in.measured(in.amounts(), notes, clause)
	f.dropped = dropped
	in.corrected = dropped&signRejected != 0
	if in.nobodyMeasured(notes, numbers) {
		f.attempt = len(in.onlyWater(numbers)) > 0 || dropped&signOld != 0
		if f.attempt {
			f.ask("not measured")
		}
		return f
	}
	numbers = in.joinSpoken(in.withHomophones(numbers, names), names)
	numbers = in.applyCorrections(in.onlyWater(numbers), names, notes)
	numbers = in.withoutUnclear(&f, in.beyondChart(numbers, notes, clause))
	numbers = in.settleThermometers(&f, numbers)
	unread := in.takeUnknown(&f, names, numbers, notes, clause)
	names = without(names, unread)
	names = without(names, in.settleZeros(&f, names, notes))
	names = without(names, in.settleDescribed(&f, names, numbers, notes))
	pairs, spent := in.alignAll(names, numbers, dead, clause)
	in.pairGroups(names, numbers, pairs)
	taken := in.takeNamed(&f, names, numbers, pairs)
	in.takeShared(&f, names, numbers, pairs, taken)
	in.takeZeros(&f, names, taken, notes)
	in.takeBare(&f, liveNames(names, spent), numbers, livePairs(pairs, spent), notes)
	in.takeReleased(&f, names, numbers, pairs, spent)
	in.takeOfProduct(&f, names, numbers, pairs, notes)
	f.settle()
	in.takeTemperature(&f, numbers, pairs)
	in.askQuality(&f, names, taken, numbers, notes, clause, dropped)
	return f
}

// nobodyMeasured reports whether the owner says that the numbers are guesses.
func (in *input) nobodyMeasured(notes []note, numbers []amount) bool {
	if in.ctx.Asked != AskedReadings {
		return false
	}
	for _, n := range notes {
		if n.sign == signGuess && !in.guessOfOne(n, numbers) {
			return true
		}
	}
	return false
}

// guessOfOne knows "ph is 7.8, alk? didn't check": only the one named was not measured.
func (in *input) guessOfOne(n note, numbers []amount) bool {
	for i := max(0, n.from-3); i < n.from; i++ {
		if in.quantityAt(i) && len(numbers) > 0 && numbers[0].from < i && numbers[len(numbers)-1].from < i {
			return true
		}
	}
	return false
}

// withoutUnclear drops numbers of which the owner is not sure, and asks.
func (in *input) withoutUnclear(f *found, numbers []amount) []amount {
	kept := numbers[:0]
	for _, a := range numbers {
		if a.unclear {
			f.attempt = true
			f.vague = append(f.vague, a)
			f.ask("which number is it?")
			if x := first(a.value); in.asks(WaterTemp) && len(in.ctx.AskedReadings) == 1 && x >= 46 && !a.bounded {
				a.value, a.bounded, a.unclear = Value{Low: x, High: x + 1}, true, false // "108 point something"
				kept = append(kept, a)
			}
			continue
		}
		kept = append(kept, a)
	}
	return kept
}

func without(names []name, gone map[int]bool) []name {
	var out []name
	for i, n := range names {
		if !gone[i] {
			out = append(out, n)
		}
	}
	return out
}

// names lists the quantities named, without names of products ("chlorine tabs", "ph
// up") and without "total" or "free" where chlorine is not spoken of.
func (in *input) names(notes []note) []name {
	var out []name
	chlorine := in.asks(FreeChlorine) || in.asks(TotalChlorine)
	for i := 0; i < len(in.tokens); {
		n, ok := in.nameAt(i)
		if !ok {
			i++
			continue
		}
		if !in.isProduct(n, notes) && !in.usesOther(n, out) {
			out = append(out, n)
		}
		chlorine = chlorine || n.quantity == FreeChlorine && !n.loose
		i = n.to
	}
	kept := out[:0]
	for _, n := range out {
		if n.loose && !in.looseFits(n, out, chlorine) {
			continue
		}
		if n.quantity == FreeChlorine && in.word(n.from, "sanitizer") && (!n.loose && in.asks(Bromine) && !in.asks(FreeChlorine) || !in.asks(FreeChlorine) && namesInclude(out, Bromine)) {
			n.quantity = Bromine
		}
		kept = append(kept, n)
	}
	return kept
}

// usesOther knows "we use bromine, not chlorine: 4": the name denied has no number.
func (in *input) usesOther(n name, before []name) bool {
	if n.quantity != FreeChlorine && n.quantity != Bromine || !in.word(n.from-1, "no", "not", "instead", "never", "than") {
		return false
	}
	for _, b := range before {
		if (b.quantity == Bromine || b.quantity == FreeChlorine) && b.quantity != n.quantity {
			return true
		}
	}
	return false
}

func (in *input) asks(q Quantity) bool {
	if in.ctx.Asked == AskedConfirm {
		_, ok := in.ctx.Proposed[string(q)]
		return ok
	}
	for _, a := range in.ctx.AskedReadings {
		if a == q {
			return true
		}
	}
	return false
}

// looseFits decides on short names that are words of their own.
func (in *input) looseFits(n name, all []name, chlorine bool) bool {
	if in.asks(n.quantity) {
		return true
	}
	switch in.tokens[n.from].Text {
	case "combined", "combinado":
		return chlorine || len(all) > 2 || in.word(n.to, "reads", "is", "at", "marca", "sale", "shows", "says") && in.number(n.to+1)
	case "total", "totals", "free", "frees", "libre":
		return chlorine || len(all) > 2 || in.chlorineBeside(n, all)
	}
	if n.quantity == Salt && in.hasWord("reads", "says", "shows", "display", "level", "ppm", "ppt", "marca", "nivel") {
		return true
	}
	return in.numberBeside(n)
}

// chlorineBeside reports whether another kind of chlorine is named, which tells what
// "free" or "total" is of; beside "total" it has a number of its own.
func (in *input) chlorineBeside(n name, all []name) bool {
	for _, o := range all {
		switch {
		case n.quantity == TotalChlorine && (o.quantity == FreeChlorine || o.quantity == CombinedChlorine) && in.number(o.to),
			n.quantity != TotalChlorine && (o.quantity == TotalChlorine || o.quantity == CombinedChlorine):
			return true
		}
	}
	return false
}

// numberBeside reports whether a number stands next to a short name.
func (in *input) numberBeside(n name) bool {
	if in.number(n.to) || in.number(n.to+1) || in.number(n.from-1) {
		return true
	}
	return in.number(n.to+2) && in.word(n.to, "is", "es", "esta", "at", "was", "reads", "came") && in.word(n.to+1, "only", "at", "about", "like", "como", "around", "a", "en", "just", "now", "still", "too")
}

// isProduct knows "chlorine tabs", "ph up", "alkalinity increaser", "added chlorine".
func (in *input) isProduct(n name, notes []note) bool {
	if in.word(n.to, "tab", "tabs", "tablet", "tablets", "granules", "powder", "bottle", "jar", "bucket", "up", "down", "plus", "minus", "increaser", "decreaser",
		"reducer", "smell", "pucks", "puck", "floater", "product", "bag", "shock", "container", "gas", "bleach", "granulado", "granular", "liquido", "stick", "sticks", "feeder", "scoop", "generator", "dispenser", "cell", "water", "system", "tub", "fumes", "allergy") {
		if n.quantity == Salt && in.word(n.to, "cell", "system", "generator") && in.hasWord("reads", "says", "shows", "display", "marca") {
			return false
		}
		return !(in.word(n.to, "down", "up") && (in.number(n.to+1) || in.word(n.to+1, "to", "at")))
	}
	for _, x := range notes {
		if x.sign == signDose && x.to <= n.from && n.from-x.to <= 5 && in.sentenceBreaks(x.from, n.from) == 0 && !in.number(n.to) && !in.numberBetween(x.to, n.from) && !in.turnsBetween(x.to, n.from) {
			return true
		}
	}
	// "2 oz of chlorine": the number before counts spoons.
	i := n.from - 1
	for in.word(i, "of", "de", "the", "my") {
		i--
	}
	return i > 0 && in.tokens[i].Kind == words.Word && isOtherUnit(in.tokens[i].Text) && in.number(i-1)
}

func (in *input) numberBetween(from, to int) bool {
	for i := from; i < to; i++ {
		if in.number(i) && !(i+1 < len(in.tokens) && isOtherUnit(in.tokens[i+1].Text)) {
			return true
		}
	}
	return false
}

// onlyWater drops numbers with a unit of volume.
func (in *input) onlyWater(numbers []amount) []amount {
	kept := numbers[:0]
	for _, a := range numbers {
		if a.unit < gallons {
			kept = append(kept, a)
		}
	}
	return kept
}

// takeNamed stores each number that has a name, later ones over earlier ones, and
// returns which names got a value.
func (in *input) takeNamed(f *found, names []name, numbers []amount, pairs []int) map[int]bool {
	taken := map[int]bool{}
	for k, n := range pairs {
		if n < 0 {
			continue
		}
		if names[n].quantity == WaterTemp && in.ctx.Asked != AskedReadings && in.isBodyHeat(numbers[k]) {
			continue
		}
		if in.ctx.Asked != AskedReadings && in.ctx.Asked != AskedConfirm && numbers[k].spelled && first(numbers[k].value) <= 10 && (numbers[k].from-names[n].to > 2 || names[n].from-numbers[k].to > 2) {
			continue
		}
		taken[n] = true
		in.store(f, names[n].quantity, numbers[k])
	}
	return taken
}

// store converts, checks and keeps one value.
func (in *input) store(f *found, q Quantity, a amount) {
	f.attempt = true
	if in.isWhitePad(q, a) {
		f.ask("a pad without colour is not zero")
		return
	}
	if q == WaterTemp && !in.settleScale(f, &a) {
		return
	}
	v := convert(q, a)
	if g := (Value{Low: a.grouped, High: a.grouped}); a.grouped > 0 && !isTypical(q, v) && isTypical(q, g) && !a.bounded {
		v = g // "tds 1.500"
	}
	if isAbsurd(q, v) {
		f.zeroPH = f.zeroPH || q == PH && v == (Value{})
		f.ask("that cannot be a reading of " + string(q))
		if x, ok := likely(q, v.Low); ok {
			f.propose(q, x)
		}
		return
	}
	if old, ok := f.readings[q]; ok && !old.Unknown && q == WaterTemp && in.staysHotter(f, old, v) {
		return
	}
	f.readings[q] = v
}

// isWhitePad reports whether a nought, or a number told in doubt, is read from a pad that
// too much sanitizer has turned white.
func (in *input) isWhitePad(q Quantity, a amount) bool {
	if q != FreeChlorine && q != TotalChlorine && q != Bromine || !in.bleached() {
		return false
	}
	return first(a.value) == 0 || in.hasWord("but", "pero") && in.hasWord("idk", "dunno", "unsure")
}

// settleScale sets the scale of a temperature told without one; where it cannot be told,
// or the number is none that water in use has, it asks and returns false.
func (in *input) settleScale(f *found, a *amount) bool {
	if a.unit == noUnit && in.hasWord("celsius", "centigrade", "centigrados", "celcius") {
		a.unit = celsius
	}
	x := first(a.value)
	tenths := a.unit == noUnit && x != math.Trunc(x) && x > 34 // nobody reads tenths of Fahrenheit there
	unscaled := a.unit == noUnit || a.unit == degrees && !in.hasWord("grados", "grado")
	switch {
	case unscaled && !tenths && x >= 32 && x < 46 && in.language() == "en":
		f.ask("Fahrenheit or Celsius?")
		f.propose(WaterTemp, convert(WaterTemp, *a).Low)
		return false
	case a.unit == noUnit && x < 20:
		f.ask("that cannot be a reading of " + string(WaterTemp))
		return false
	}
	return true
}

// staysHotter keeps the higher of two temperatures of one text, and asks where two
// thermometers showed them.
func (in *input) staysHotter(f *found, old, v Value) bool {
	if first(old) != first(v) && in.twoThermometers() {
		f.ask("two thermometers that differ")
	}
	return old.ends()[0] >= v.ends()[0]
}

// twoThermometers reports whether the panel and a thermometer are both spoken of.
func (in *input) twoThermometers() bool {
	for i := range in.tokens {
		if in.word(i, "two", "both", "2", "dos") && in.word(i+1, "thermometers", "termometros", "different") {
			return true
		}
	}
	return in.hasWord("panel", "display", "control", "screen", "tablero", "pantalla", "topside", "keypad") &&
		in.hasWord("thermometer", "termometro", "floating", "floater", "flotador", "duck", "ducky", "patito", "probe", "gun", "mercury", "glass")
}

// One German degree and one grain per US gallon of hardness, in mg/L of CaCO3: from
// memory; a French degree is 10 mg/L by definition.
const mgPerGermanDegree, mgPerGrain = 17.85, 17.12

// convert brings a value to the unit in the quantity's name.
func convert(q Quantity, a amount) Value {
	v := a.value
	switch {
	case q == WaterTemp && (a.unit == celsius || a.unit != fahrenheit && v.ends()[0] < 46):
		return v.scale(1.8, 32)
	case q == Phosphate && a.unit == perMillion:
		return v.scale(1000, 0)
	case q != Phosphate && a.unit == perBillion:
		return v.scale(0.001, 0)
	case a.unit == gramsPerLitre:
		return v.scale(1000, 0)
	case (q == Salt || q == TDS) && a.unit == perHundred:
		return v.scale(10000, 0)
	case a.unit == frenchDegrees:
		return v.scale(10, 0)
	case a.unit == germanDegrees:
		return v.scale(mgPerGermanDegree, 0)
	case a.unit == grainsPerGallon:
		return v.scale(mgPerGrain, 0)
	}
	return v
}

// scale returns the value times factor plus offset, rounded to a hundredth.
func (v Value) scale(factor, offset float64) Value {
	round := func(x float64) float64 { return math.Round((x*factor+offset)*100) / 100 }
	if !v.OpenLow {
		v.Low = round(v.Low)
	}
	if !v.OpenHigh {
		v.High = round(v.High)
	}
	return v
}
