package words

import "strings"

// cardinal reads a whole number in words from i and returns how many tokens it took.
// It follows speech, not only grammar: "three fifty" is 350 and "one oh four" is 104,
// but "three seven" stays two numbers.
func cardinal(tokens []Token, i int) (int, float64) {
	n, group := below1000(tokens, i)
	if n == 0 {
		if !isNumeral(tokens, i, thousand) {
			return 0, 0
		}
		group = 1
	}
	if !isNumeral(tokens, i+n, thousand) {
		return n, group
	}
	n++
	value := group * 1000
	rest := i + n
	if wordAt(tokens, rest, "and", "n") {
		rest++
	}
	if m, low := below1000(tokens, rest); m > 0 {
		return rest - i + m, value + low
	}
	return n, value
}

func below1000(tokens []Token, i int) (int, float64) {
	first, ok := numeralAt(tokens, i)
	if !ok || first.role == thousand {
		return 0, 0
	}
	switch first.role {
	case hundred:
		return afterHundred(tokens, i, 1, 100)
	case hundreds:
		return afterHundred(tokens, i, 1, first.value)
	}
	n, v := below100(tokens, i)
	if isNumeral(tokens, i+n, hundred) {
		return afterHundred(tokens, i, n+1, v*100)
	}
	return spoken(tokens, i, n, v, first.role)
}

func afterHundred(tokens []Token, i, n int, v float64) (int, float64) {
	rest := i + n
	if wordAt(tokens, rest, "and", "n") {
		rest++
	}
	if m, low := below100(tokens, rest); m > 0 {
		// "a hundred seven point two" said of two pads: leave the unit to the next number.
		if low < 10 && rest == i+n && wordAt(tokens, rest+m, "point", "punto", "coma") {
			return n, v
		}
		return rest - i + m, v + low
	}
	return n, v
}

// spoken reads "three fifty" (350), "one twenty five" (125) and "one oh four" (104).
func spoken(tokens []Token, i, n int, v float64, first role) (int, float64) {
	if first != unit || v == 0 {
		return n, v
	}
	if wordAt(tokens, i+n, "oh", "o") && !isSpanish(tokens[i].Text) {
		if last, ok := numeralAt(tokens, i+n+1); ok && last.role == unit {
			return n + 2, v*100 + last.value
		}
		return n, v
	}
	next, ok := numeralAt(tokens, i+n)
	if !ok || (next.role != tens && next.role != teen) || isSpanish(tokens[i].Text) {
		return n, v
	}
	m, low := below100(tokens, i+n)
	if low < 10 || wordAt(tokens, i+n+m, "point", "hundred") {
		return n, v
	}
	return n + m, v*100 + low
}

func below100(tokens []Token, i int) (int, float64) {
	first, ok := numeralAt(tokens, i)
	if !ok || first.role > tens {
		return 0, 0
	}
	if first.role != tens {
		return 1, first.value
	}
	rest := i + 1
	if wordAt(tokens, rest, "y") || (rest < len(tokens) && tokens[rest].IsMark("-")) {
		rest++
	}
	if v, ok := lastHomophone(tokens, rest); ok {
		return rest - i + 1, first.value + v
	}
	second, ok := numeralAt(tokens, rest)
	if !ok || second.role != unit || second.value == 0 {
		return 1, first.value
	}
	// "three eighty seven point two" is a list; "thirty eight point five" is one number.
	if rest == i+1 && afterNumeral(tokens, i) && wordAt(tokens, rest+1, "point", "punto", "coma") {
		return 1, first.value
	}
	return rest - i + 1, first.value + second.value
}

func afterNumeral(tokens []Token, i int) bool {
	if i == 0 {
		return false
	}
	_, ok := numeralAt(tokens, i-1)
	return ok || tokens[i-1].Kind == Number
}

// withDecimals adds "point two", "coma cuatro", "and a half" or "y medio" to a whole number.
func withDecimals(tokens []Token, i, n int, v float64) (int, float64) {
	at := i + n
	if wordAt(tokens, at, "point", "punto", "coma", "dot", "pt") {
		if m, d := decimals(tokens, at+1); m > 0 && v == float64(int(v)) {
			return n + 1 + m, v + d
		}
		return n, v
	}
	m, part := fractionWords(tokens, at, v)
	return n + m, v + part
}

// fractionWords reads "and a half", "y medio", "and two tenths", "con dos" after a
// number of size v: how many tokens, and what they add.
func fractionWords(tokens []Token, at int, v float64) (int, float64) {
	if n, part := quarters(tokens, at); n > 0 {
		return n, part
	}
	return tenths(tokens, at, v)
}

// quarters reads "and a half", "y medio", "and three quarters".
func quarters(tokens []Token, at int) (int, float64) {
	if isNumeral(tokens, at, unit) && wordAt(tokens, at, "three", "tres") && wordAt(tokens, at+1, "quarters", "cuartos") {
		return 2, 0.75
	}
	if !wordAt(tokens, at, "and", "n", "an", "y") {
		return 0, 0
	}
	switch {
	case wordAt(tokens, at+1, "a") && wordAt(tokens, at+2, "half"):
		return 3, 0.5
	case wordAt(tokens, at+1, "a") && wordAt(tokens, at+2, "quarter"):
		return 3, 0.25
	case wordAt(tokens, at+1, "three", "3", "tres") && wordAt(tokens, at+2, "quarters", "cuartos"):
		return 3, 0.75
	case wordAt(tokens, at, "y") && wordAt(tokens, at+1, "cuarto"):
		return 2, 0.25
	case wordAt(tokens, at+1, "medio", "media", "half"):
		return 2, 0.5
	}
	return 0, 0
}

// tenths reads "and two tenths", "con dos" and, of a small number, "eight tenths".
func tenths(tokens []Token, at int, v float64) (int, float64) {
	if wordAt(tokens, at, "and", "y") && wordAt(tokens, at+2, "tenths", "tenth", "decimas") {
		if d, ok := decimalDigit(tokens, at+1); ok {
			return 3, d / 10
		}
	}
	con := wordAt(tokens, at, "con")
	if !(v < 15 && wordAt(tokens, at+1, "tenths", "tenth", "decimas")) && !(v < 46 && con) {
		return 0, 0
	}
	i := at
	if con {
		i++
	}
	if d, ok := numeralAt(tokens, i); ok && d.role == unit {
		return 2, d.value / 10
	}
	if con && v >= 6 && v <= 8 && i < len(tokens) && isInteger(tokens[i]) && tokens[i].Value < 10 {
		return 2, tokens[i].Value / 10
	}
	return 0, 0
}

// decimals reads the figures after a point: "two", "seven five", "oh", "25", "for".
func decimals(tokens []Token, i int) (int, float64) {
	if i >= len(tokens) {
		return 0, 0
	}
	if t := tokens[i]; t.Kind == Number {
		if !isInteger(t) || len(t.Text) > 3 {
			return 0, 0
		}
		return 1, t.Value / pow10(len(t.Text))
	}
	n, v, scale := 0, 0.0, 1.0
	for n < 3 {
		d, ok := decimalDigit(tokens, i+n)
		if n > 0 && ok && isHomophone(tokens[i+n]) {
			break // "point five to one" is a range
		}
		if !ok || (n > 0 && wordAt(tokens, i+n+1, "point", "punto", "coma")) {
			break
		}
		scale *= 10
		v = v*10 + d
		n++
	}
	if n > 0 {
		return n, v / scale
	}
	if m, low := below100(tokens, i); m > 0 && low >= 10 {
		return m, low / 100
	}
	return 0, 0
}

func decimalDigit(tokens []Token, i int) (float64, bool) {
	if i >= len(tokens) {
		return 0, false
	}
	if num, ok := numeralAt(tokens, i); ok {
		return num.value, num.role == unit
	}
	if wordAt(tokens, i, "oh", "o") {
		return 0, true
	}
	return Homophone(tokens[i])
}

// Homophone returns the figure that a dictated word may stand for: "to" for two. It
// holds only where a number is certain to stand; the caller knows.
func Homophone(t Token) (float64, bool) {
	if t.Kind != Word {
		return 0, false
	}
	switch t.Text {
	case "to", "too", "tu":
		return 2, true
	case "for", "fore", "foe":
		return 4, true
	case "ate":
		return 8, true
	case "won":
		return 1, true
	case "tree", "free":
		return 3, true
	case "sex", "sicks":
		return 6, true
	case "tin":
		return 10, true
	case "fife":
		return 5, true
	}
	return 0, false
}

// lastHomophone reads the unit of "eighty ate", where nothing follows and the word is
// not one that joins.
func lastHomophone(tokens []Token, i int) (float64, bool) {
	if !wordAt(tokens, i, "ate", "fife", "sicks", "won") || i+1 < len(tokens) && tokens[i+1].Kind == Word {
		return 0, false
	}
	return Homophone(tokens[i])
}

func pow10(n int) float64 {
	v := 1.0
	for ; n > 0; n-- {
		v *= 10
	}
	return v
}

func numeralAt(tokens []Token, i int) (numeral, bool) {
	if i < 0 || i >= len(tokens) || tokens[i].Kind != Word {
		return numeral{}, false
	}
	n, ok := numerals[strings.TrimSuffix(tokens[i].Text, "ish")]
	return n, ok
}

func isNumeral(tokens []Token, i int, r role) bool {
	n, ok := numeralAt(tokens, i)
	return ok && n.role == r
}

func wordAt(tokens []Token, i int, options ...string) bool {
	return i >= 0 && i < len(tokens) && tokens[i].IsWord(options...)
}

// isSpanish tells the language of a numeral; only English runs "three fifty" together.
func isSpanish(word string) bool {
	switch word {
	case "uno", "dos", "tres", "cuatro", "cinco", "seis", "siete", "ocho", "nueve":
		return true
	}
	return false
}
