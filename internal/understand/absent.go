package understand

import "tubhand/internal/understand/words"

// takeZeros reads "no chlorine at all", "chlorine none", "nada de cloro" as 0. The
// sanitizers alone: nobody means 0 by "no pH".
func (in *input) takeZeros(f *found, names []name, taken map[int]bool, notes []note) {
	in.takeOther(f, notes)
	for k, n := range names {
		if taken[k] || !canBeNothing(n.quantity) || in.unknownNear(n, notes) {
			continue
		}
		if in.lacksPad(n) && in.asks(n.quantity) {
			taken[k] = true
			f.attempt = true
			f.readings[n.quantity] = Value{Unknown: true}
			continue
		}
		if in.word(n.from-2, "almost", "nearly", "practically", "hardly", "barely", "casi", "little") || in.almostNothing() {
			continue
		}
		if in.bleached() {
			f.attempt = true
			f.ask("a pad without colour is not zero")
			continue
		}
		if in.saysNone(n) && (in.ctx.Asked == AskedReadings || in.measuresHere(n)) || len(names) == 1 && in.nothingAsked(n) {
			taken[k] = true
			f.attempt = true
			f.readings[n.quantity] = Value{}
		}
	}
}

// almostNothing knows "casi nada" and "next to nothing", which are more than nothing.
func (in *input) almostNothing() bool {
	for i := range in.tokens {
		if in.word(i, "casi", "almost", "nearly", "practically", "hardly", "barely") && in.word(i+1, "nada", "none", "nothing", "no", "any", "zip") || in.word(i, "next") && in.word(i+1, "to") && in.word(i+2, "nothing", "none") {
			return true
		}
	}
	return false
}

// bleached knows pads that too much sanitizer has turned white: no zero is to be read
// from them.
func (in *input) bleached() bool {
	if in.hasWord("white", "blanco", "blanca", "blanquito") && in.hasWord("stayed", "stays", "pad", "square", "turned", "strip", "cuadrito", "quedo", "so", "it", "se") {
		return true
	}
	if in.hasWord("bleached", "bleaching", "bleach", "decolorado", "decolorada", "blanqueo", "despinto") && !in.hasWord("added", "poured") {
		return true
	}
	for i := range in.tokens {
		if in.word(i, "went", "turned", "turns", "goes", "gone", "puso", "quedo", "se", "back") && in.word(i+1, "white", "clear", "blanco", "blanca", "colorless", "to", "all", "pure") && (!in.word(i+1, "to", "all", "pure") || in.word(i+2, "white", "clear")) {
			return true
		}
	}
	return false
}

// takeOther knows "the other one I can't make out" where but one reading is left.
func (in *input) takeOther(f *found, notes []note) {
	if in.ctx.Asked != AskedReadings || len(f.readings) == 0 {
		return
	}
	var left []Quantity
	for _, q := range in.ctx.AskedReadings {
		if _, ok := f.readings[q]; !ok {
			left = append(left, q)
		}
	}
	for _, x := range notes {
		if x.sign != signUnknown {
			continue
		}
		for i := x.from - 4; i < x.to+3; i++ {
			one := len(left) == 1 && in.word(i, "other", "otra", "otro", "last", "ultima", "ultimo", "third", "tercera", "tercero")
			all := in.word(i, "rest", "others", "otros", "otras", "demas", "resto") || in.word(i, "other") && (in.number(i+1) || in.word(i+1, "ones"))
			if one || all && !in.numberBetween(i+1+btoi(in.word(i, "other")), min(i+7, len(in.tokens))) {
				for _, q := range left {
					f.readings[q] = Value{Unknown: true}
				}
				return
			}
		}
	}
}

// settleZeros takes "no chlorine, 7.4, 100" before numbers are given to names, and what
// the strip has no pad for or what is asked with a mark, "alk ?".
func (in *input) settleZeros(f *found, names []name, notes []note) map[int]bool {
	out := map[int]bool{}
	if in.ctx.Asked != AskedReadings {
		return out
	}
	for k, n := range names {
		switch {
		case !in.asks(n.quantity):
		case in.isPlainZero(n, notes):
			out[k], f.attempt, f.readings[n.quantity] = true, true, Value{}
		case in.lacksPad(n) && !in.number(n.to):
			out[k], f.attempt, f.readings[n.quantity] = true, true, Value{Unknown: true}
		case k > 0 && in.mark(n.to, "?") && (n.to+1 >= len(in.tokens) || in.mark(n.to+1, ",;?") || in.quantityAt(n.to+1)):
			out[k], f.readings[n.quantity] = true, Value{Unknown: true}
		}
	}
	return out
}

// isPlainZero knows "no chlorine," and "nada de cloro y" right before a sign or a word that joins.
func (in *input) isPlainZero(n name, notes []note) bool {
	if !in.word(n.from-1, "no", "zero", "cero", "without", "sin") && !(in.word(n.from-1, "de") && in.word(n.from-2, "nada", "nadita")) {
		return false
	}
	if !canBeNothing(n.quantity) || in.lacksPad(n) || in.unknownNear(n, notes) && !in.saysZero() || in.bleached() || in.word(n.from-2, "almost", "nearly", "practically", "hardly", "barely", "casi") {
		return false
	}
	return n.to >= len(in.tokens) || in.mark(n.to, ",;./") || in.word(n.to, "and", "y", "at", "but", "pero")
}

// lacksPad knows "there's no alkalinity on this kit".
func (in *input) lacksPad(n name) bool {
	for i := n.to; i < n.to+4; i++ {
		if in.word(i, "no") && in.word(i+1, "pad", "square", "test", "patch", "box") && in.word(i+2, "for", "on") || in.word(i, "isnt", "aint") && in.word(i+1, "on") && in.word(i+2, "this", "the", "my", "these", "mine", "there") {
			return true
		}
		if in.number(i) || in.mark(i, ",;.") {
			break
		}
	}
	return in.word(n.from-1, "no", "not", "sin", "without", "have", "a", "any", "hay", "trae") && in.hasWord("no", "dont", "doesnt", "sin", "without", "not") &&
		((in.word(n.to, "on") || in.word(n.to, "in", "en") && (!in.word(n.to+1, "it", "the", "el", "la", "there") || in.hasWord("kit", "set", "strip", "strips", "tira", "tiras", "tirita", "tiritas"))) && in.word(n.to+1, "this", "the", "my", "these", "it", "here", "mine", "este", "esta", "la", "el", "mi", "em", "them") ||
			in.word(n.to, "pad", "square", "test", "box", "cuadrito", "strip"))
}

// measuresHere wants a sign that nothing was measured, not that a product is used up.
func (in *input) measuresHere(n name) bool {
	return in.hasWord("reads", "reading", "shows", "showing", "test", "tested", "tests", "strip", "strips", "tira", "tirita", "level", "says", "marca", "sale", "salio", "dice", "registers", "measures", "prueba", "nivel", "measured", "nil", "still", "sigue", "todavia") ||
		in.word(n.to, "at") && in.word(n.to+1, "all") || in.word(n.from-1, "zero", "cero") || in.word(n.from-2, "nada", "nadita") || in.word(n.from-1, "hay") || in.mark(n.to, ":=")
}

// nothingAsked knows "none, zip" anywhere in the answer about the one reading asked.
func (in *input) nothingAsked(n name) bool {
	return in.ctx.Asked == AskedReadings && len(in.ctx.AskedReadings) == 1 && in.asks(n.quantity) && !in.anyNumber() && in.hasWord("none", "zip", "zilch", "nada", "ninguno", "zippo")
}

// saysZero reports whether a nought is told in words.
func (in *input) saysZero() bool {
	for i := range in.tokens {
		if in.number(i) && in.tokens[i].Spelled && in.tokens[i].Value == 0 {
			return true
		}
	}
	return false
}

func (in *input) anyNumber() bool {
	for i := range in.tokens {
		if in.number(i) {
			return true
		}
	}
	return false
}

func canBeNothing(q Quantity) bool {
	switch q {
	case PH, WaterTemp, TDS:
		return false
	}
	return true
}

func (in *input) saysNone(n name) bool {
	if in.word(n.to, "left") && in.asks(n.quantity) && in.word(n.from-1, "of", "no") {
		return in.hasWord("no", "not", "zero")
	}
	if in.word(n.to, "left", "test", "strip", "strips", "on", "reading", "pad", "smell", "here", "at") && !in.word(n.to+1, "all") {
		return false
	}
	for i := n.from - 1; i >= 0 && i >= n.from-4; i-- {
		switch {
		case in.word(i, "no", "not", "any") && in.word(i-1, "casi", "almost", "nearly", "practically", "hardly", "barely"):
			return false
		case in.word(i, "no", "not", "without", "absent", "zero", "zip", "nada", "cero", "sin", "ningun", "zilch", "nil", "nothing", "ni") && !in.word(i-1, "had", "has"):
			return true
		case in.word(i+1, "of", "de") && in.word(i-1, "a", "una", "un") && in.tokens[i].Kind == words.Word:
		case in.word(i, "of", "de", "free", "the", "for", "el", "on", "hay", "marca", "tiene", "sale", "any", "in", "marco", "detecta", "detecto", "registra", "registro", "salio", "pinto", "show", "showing", "register", "detect", "total", "measurable", "detectable", "bit", "a", "trace", "hint", "speck", "drop"):
		default:
			i = 0
		}
	}
	for i := n.to; i < len(in.tokens) && i < n.to+4; i++ {
		switch {
		case in.word(i, "none", "nothing", "zip", "zilch", "nada", "nil", "ninguno", "nothin", "nonexistent", "undetectable", "indetectable", "absent", "zippo", "ninguna", "tampoco", "neither", "cero", "zero"):
			return true
		case in.word(i, "is", "es", "was", "reads", "shows", "showing", "showed", "says", "marca", "level", "no", "sale", "salio", "at", "a", "reading", "dice") || in.mark(i, ":=-"):
		default:
			return false
		}
	}
	return false
}

func (in *input) unknownNear(n name, notes []note) bool {
	for _, x := range notes {
		if x.sign == signUnknown && x.from <= n.to+4 && x.to >= n.from-4 {
			return true
		}
	}
	return false
}

// takeUnknown marks as unknown what the owner says could not be read: the quantity
// named nearest to those words, or everything asked where nothing is named. It returns
// which names are settled so.
func (in *input) takeUnknown(f *found, names []name, numbers []amount, notes []note, clause []int) map[int]bool {
	settled := map[int]bool{}
	if in.ctx.Asked != AskedReadings {
		return settled
	}
	for _, x := range notes {
		if x.sign != signUnknown || in.asksWhatItIs(x) || in.showsNothing(x) {
			continue
		}
		coloured := in.colourBeside(x, notes)
		if coloured {
			f.attempt = true
			f.ask("a colour where a number is needed")
		}
		told := append(numbers[:len(numbers):len(numbers)], f.vague...)
		best := in.namedNearest(x, names, settled, told, clause)
		switch {
		case best < 0:
		case coloured:
			settled[best] = true
		default:
			in.setUnknown(f, names, settled, best)
			in.takeTogether(f, names, settled, best, numbers, clause)
		}
	}
	if len(names) == 0 && len(numbers) == 0 && f.why == "" && in.ctx.Asked == AskedReadings && in.sayNothingReadable(notes) {
		for _, q := range in.ctx.AskedReadings {
			f.readings[q] = Value{Unknown: true}
		}
		f.attempt = true
	}
	return settled
}

// showsNothing knows "chlorine showing nothing", which is a zero.
func (in *input) showsNothing(x note) bool {
	n, ok := in.nameBefore(x.from)
	return ok && n.to == x.from && in.word(x.to-1, "nothing", "nada") && canBeNothing(n.quantity)
}

// namedNearest returns the name asked for and not told that is nearest to the note, or -1.
func (in *input) namedNearest(x note, names []name, settled map[int]bool, told []amount, clause []int) int {
	best, distance := -1, 9
	for k, n := range names {
		if in.word(n.from-1, "de") && in.word(n.from-2, "nada", "nadita") && in.saysZero() {
			continue
		}
		if settled[k] || !in.asks(n.quantity) || in.sentenceBreaks(min(x.to, n.to), max(x.from, n.from)) > 1 || in.hasNumberNear(n, told, clause) {
			continue
		}
		if d := gap(x, n); d < distance {
			best, distance = k, d
		}
	}
	return best
}

// asksWhatItIs knows "no idea what free chlorine is".
func (in *input) asksWhatItIs(x note) bool {
	if in.word(x.to, "que") && in.word(x.to+1, "es") || in.word(x.to-1, "que") && in.word(x.to, "es") {
		return true
	}
	if !in.word(x.to, "what") && !in.word(x.to-1, "what") && !in.word(x.to+1, "what") {
		return false
	}
	for i := x.to; i < min(x.to+5, len(in.tokens)); i++ {
		if n, ok := in.nameAt(i); ok {
			return !in.word(n.from-1, "the", "my", "our") && (in.word(n.to, "is", "means", "even") || in.word(n.from-1, "is"))
		}
	}
	return false
}

// colourBeside reports whether the sentence of the note tells a colour.
func (in *input) colourBeside(x note, notes []note) bool {
	if in.hasWord("colorblind", "forma", "manera", "lavo", "despintaron", "borraron", "mancharon", "mojaron", "decoloraron", "rompieron", "hallo", "daltonico", "daltonica", "blind", "daltonismo") {
		return false
	}
	for _, c := range notes {
		if c.sign == signColour && in.sentenceBreaks(min(c.to, x.to), max(c.from, x.from)) == 0 && max(c.from, x.from)-min(c.to, x.to) < 12 {
			return true
		}
	}
	return false
}

func (in *input) setUnknown(f *found, names []name, settled map[int]bool, k int) {
	settled[k] = true
	f.attempt = true
	if _, ok := f.readings[names[k].quantity]; !ok {
		f.readings[names[k].quantity] = Value{Unknown: true}
	}
}

// namedBefore reports whether a quantity is named right before token i.
func (in *input) namedBefore(i int) bool {
	_, ok := in.nameBefore(i)
	return ok
}

// hasNumberNear reports whether a number follows the name closely in its clause, or
// stands right before it: then the name has its value.
func (in *input) hasNumberNear(n name, numbers []amount, clause []int) bool {
	for _, a := range numbers {
		if clause[a.from] != clause[n.from] {
			continue
		}
		if d := a.from - n.to; d >= 0 && d <= 5 || n.from == a.to || a.to < n.from && n.from-a.to <= 3 && in.backwardCost(a.to, n.from) < 0 || a.to < n.from && in.onlyArticles(a.to, n.from) && !in.namedBefore(a.from) {
			return true
		}
	}
	return false
}

// takeTogether spreads "unknown" over "ph and alk".
func (in *input) takeTogether(f *found, names []name, taken map[int]bool, k int, numbers []amount, clause []int) {
	for _, j := range [...]int{k - 1, k + 1} {
		if j < 0 || j >= len(names) || taken[j] || in.hasNumberNear(names[j], numbers, clause) {
			continue
		}
		a, b := names[min(j, k)], names[max(j, k)]
		if i := a.to + btoi(in.word(a.to, "pad", "square", "one", "box", "cuadrito")); b.from-i <= 2 && (in.word(i, "and", "or", "y", "ni", "nor", "o") || in.mark(i, "/&")) && in.onlyJoins(i+1, b.from) || b.from-a.to == 1 && in.mark(a.to, ",/&") {
			in.setUnknown(f, names, taken, j)
		}
	}
}

func gap(x note, n name) int {
	if x.from >= n.to {
		return x.from - n.to
	}
	return max(0, n.from-x.to)
}

// sayNothingReadable wants words about the strip or its colours beside "can't": alone,
// "can't do it now" says nothing of what could be read.
func (in *input) sayNothingReadable(notes []note) bool {
	for _, x := range notes {
		if x.sign != signUnknown {
			continue
		}
		for i := x.from; i < x.to; i++ {
			if in.word(i, "do", "does", "have", "include", "come", "measure") && in.hasWord("kit", "strip", "strips", "tira", "tiras", "tiritas") && in.hasWord("doesnt", "dont", "didnt", "not") && in.hasWord("one", "that", "those") {
				return true
			}
			if in.word(i, "read", "tell", "see", "say", "make", "decipher", "match", "unreadable", "illegible", "smudged", "smeared", "ran", "bled", "leer", "ver", "distinguir",
				"daltonico", "daltonica", "colorblind", "blind", "entiendo", "robaron", "perdi", "same", "readable", "sirve", "sirven", "parece", "medir", "medirle", "probar", "manchas", "nothing", "none", "neither", "ninguno", "ninguna", "legible", "match", "matches",
				"distingo", "distingue", "saber", "ilegible", "borroso", "idea", "clue", "inconclusive", "unclear", "ruined", "bleeding", "run", "blended", "nota", "alcanza", "borro", "mojo", "revolvieron", "corrieron", "reading", "dunno", "idk", "know", "unknown", "wet", "se", "ve") {
				return true
			}
		}
	}
	return false
}
