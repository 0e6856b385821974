package words

// Spelled numbers. A small table gives each word its value and its role; a grammar
// over roles then joins "one hundred and twenty", "seven point two", "three fifty",
// "ciento veinte", "siete coma dos", "treinta y ocho" and "mil doscientos".

type role uint8

const (
	unit     role = iota // 0 to 9
	teen                 // 10 to 19
	tens                 // 20, 30, ... 90
	hundreds             // Spanish 200 ... 900, and 100 as "cien(to)"
	hundred              // multiplies by 100
	thousand             // multiplies by 1000
)

type numeral struct {
	value float64
	role  role
}

// numerals is never changed.
var numerals = map[string]numeral{
	"eigthy": {80, tens}, "eighy": {80, tens}, "nintey": {90, tens}, "sevnty": {70, tens}, "seventey": {70, tens}, "fiftey": {50, tens}, "sixy": {60, tens}, "thrity": {30, tens}, "twnety": {20, tens}, "hundrend": {100, hundred}, "fivty": {50, tens},
	"sevin": {7, unit}, "sevn": {7, unit}, "sevan": {7, unit}, "seben": {7, unit}, "fiv": {5, unit}, "eigth": {8, unit}, "eght": {8, unit}, "thre": {3, unit}, "twelv": {12, teen},
	"fifteeen": {15, teen}, "twenny": {20, tens}, "fourthy": {40, tens}, "fity": {50, tens}, "hundrid": {100, hundred}, "hundread": {100, hundred}, "hunderds": {100, hundred},
	"zero": {0, unit}, "one": {1, unit}, "two": {2, unit}, "three": {3, unit}, "four": {4, unit}, "five": {5, unit},
	"six": {6, unit}, "seven": {7, unit}, "eight": {8, unit}, "nine": {9, unit},
	"ten": {10, teen}, "eleven": {11, teen}, "twelve": {12, teen}, "thirteen": {13, teen}, "fourteen": {14, teen},
	"fifteen": {15, teen}, "sixteen": {16, teen}, "seventeen": {17, teen}, "eighteen": {18, teen}, "nineteen": {19, teen},
	"twenty": {20, tens}, "thirty": {30, tens}, "forty": {40, tens}, "fourty": {40, tens}, "fifty": {50, tens},
	"sixty": {60, tens}, "seventy": {70, tens}, "eighty": {80, tens}, "ninety": {90, tens}, "ninty": {90, tens},
	"hundred": {100, hundred}, "hundered": {100, hundred}, "hunnerd": {100, hundred}, "hunderd": {100, hundred}, "hunnert": {100, hundred}, "hunned": {100, hundred}, "fiddy": {50, tens}, "dosciento": {200, hundreds}, "ceros": {0, unit}, "cerito": {0, unit}, "thousand": {1000, thousand},

	"cero": {0, unit}, "uno": {1, unit}, "dos": {2, unit}, "tres": {3, unit}, "cuatro": {4, unit}, "quatro": {4, unit},
	"cinco": {5, unit}, "seis": {6, unit}, "siete": {7, unit}, "ocho": {8, unit}, "nueve": {9, unit},
	"diez": {10, teen}, "once": {11, teen}, "doce": {12, teen}, "trece": {13, teen}, "catorce": {14, teen},
	"quince": {15, teen}, "dieciseis": {16, teen}, "diecisiete": {17, teen}, "dieciocho": {18, teen}, "diecinueve": {19, teen},
	"veinte": {20, tens}, "veintiuno": {21, teen}, "veintidos": {22, teen}, "veintitres": {23, teen},
	"veinticuatro": {24, teen}, "veinticinco": {25, teen}, "veintiseis": {26, teen}, "veintisiete": {27, teen},
	"veintiocho": {28, teen}, "veintinueve": {29, teen},
	"treinta": {30, tens}, "cuarenta": {40, tens}, "cincuenta": {50, tens}, "sesenta": {60, tens},
	"setenta": {70, tens}, "ochenta": {80, tens}, "noventa": {90, tens},
	"cien": {100, hundreds}, "ciento": {100, hundreds}, "doscientos": {200, hundreds}, "docientos": {200, hundreds},
	"trescientos": {300, hundreds}, "cuatrocientos": {400, hundreds}, "quinientos": {500, hundreds},
	"seiscientos": {600, hundreds}, "setecientos": {700, hundreds}, "ochocientos": {800, hundreds},
	"novecientos": {900, hundreds}, "trecientos": {300, hundreds}, "cuatrosientos": {400, hundreds}, "tresientos": {300, hundreds}, "dosientos": {200, hundreds}, "seisientos": {600, hundreds}, "quinietos": {500, hundreds}, "cuatrocientas": {400, hundreds}, "doscientas": {200, hundreds}, "trescientas": {300, hundreds}, "quinientas": {500, hundreds},
	"mil": {1000, thousand},
}

// once is eleven in Spanish and a common English word; it counts only beside another
// Spanish numeral or after "son".
func isAmbiguous(word string) bool { return word == "once" || word == "one" || word == "uno" }

// joinSpelled replaces runs of numerals by Number tokens, and attaches a decimal part
// ("point two", "y medio", "and a half") and a multiplier ("1.5 mil", "2k") to figures.
func joinSpelled(tokens []Token) []Token {
	if !anyNumeral(tokens) {
		return tokens
	}
	tokens = withoutNumeralDashes(tokens)
	out := make([]Token, 0, len(tokens))
	for i := 0; i < len(tokens); {
		if n, value := numberAt(tokens, i); n > 0 {
			t := merged(tokens[i:i+n], Number)
			t.Value, t.Spelled, t.Grouped = value, tokens[i].Kind == Word, 0
			out = append(out, t)
			i += n
			continue
		}
		out = append(out, tokens[i])
		i++
	}
	return out
}

// withoutNumeralDashes makes "one-oh-one" three words.
func withoutNumeralDashes(tokens []Token) []Token {
	out := make([]Token, 0, len(tokens))
	for i, t := range tokens {
		if t.IsMark("-") && t.Glued && isSpokenFigure(tokens, i-1) && isSpokenFigure(tokens, i+1) && tokens[i+1].Glued {
			continue
		}
		out = append(out, t)
	}
	return out
}

func isSpokenFigure(tokens []Token, i int) bool {
	if i < 0 || i >= len(tokens) || tokens[i].Kind != Word {
		return false
	}
	_, ok := numerals[tokens[i].Text]
	return ok || tokens[i].IsWord("oh", "o", "point", "and", "half", "quarter", "medio", "a", "y")
}

func anyNumeral(tokens []Token) bool {
	for i, t := range tokens {
		if t.Kind == Word {
			if _, ok := numerals[t.Text]; ok {
				return true
			}
			if t.IsWord("k", "point", "punto", "coma", "half", "medio", "media", "quarter", "cuarto", "tenths", "decimas", "hundred", "con") && i+1 <= len(tokens) {
				return true
			}
		}
	}
	return false
}

// numberAt returns the length and value of the spelled (or part spelled) number at i.
func numberAt(tokens []Token, i int) (int, float64) {
	t := tokens[i]
	switch {
	case t.Kind == Number:
		return figureWithWords(tokens, i)
	case t.Kind != Word:
		return 0, 0
	case t.IsWord("point", "punto") && nextIsFigureOrUnit(tokens, i+1) && !afterNumber(tokens, i):
		n, digits := decimals(tokens, i+1)
		if n > 0 && digits > 0 {
			return 1 + n, digits
		}
		return 0, 0
	case wordAt(tokens, i+1, "point", "punto") && isHomophone(t):
		if n, d := decimals(tokens, i+2); n > 0 {
			v, _ := Homophone(t)
			return 2 + n, v + d
		}
		return 0, 0
	case t.IsWord("a", "un") && i+1 < len(tokens) && tokens[i+1].IsWord("hundred", "thousand"):
		n, v := cardinal(tokens, i+1)
		n, v = withDecimals(tokens, i+1, n, v)
		return n + 1, v
	}
	if isAmbiguous(t.Text) && (!numeralNear(tokens, i) || isPronoun(tokens, i)) {
		return 0, 0
	}
	n, v := cardinal(tokens, i)
	if n == 0 {
		return 0, 0
	}
	return timesHundred(tokens, i, n, v)
}

// timesHundred adds the decimal part, and reads "three and a half hundred".
func timesHundred(tokens []Token, i, n int, v float64) (int, float64) {
	m, w := withDecimals(tokens, i, n, v)
	if m > n && w < 20 && wordAt(tokens, i+m, "hundred", "thousand") {
		if wordAt(tokens, i+m, "thousand") {
			w *= 10
		}
		return m + 1, w * 100
	}
	return m, w
}

// figuresAfterHundred reads the "50" of "3 hundred and 50".
func figuresAfterHundred(tokens []Token, i int) (int, float64) {
	n := 1
	if wordAt(tokens, i, "n", "and") {
		n++
	}
	if at := i + n - 1; at < len(tokens) && isInteger(tokens[at]) && tokens[at].Value < 100 && tokens[at].Value >= 10 {
		return n, tokens[at].Value
	}
	return 0, 0
}

// figureWithWords reads "7 point 2", "7 y medio", "1.5 k", "2 mil", "3 hundred".
func figureWithWords(tokens []Token, i int) (int, float64) {
	v := tokens[i].Value
	if i+1 < len(tokens) {
		next := tokens[i+1]
		switch {
		case next.IsWord("k") && (next.Glued || v < 20), next.IsWord("mil", "thousand"):
			if m, rest := cardinal(tokens, i+2); m > 0 && rest < 1000 {
				return 2 + m, 1000*v + rest
			}
			return 2, 1000 * v
		case next.IsWord("hundred", "hundered") && v < 100:
			n, rest := figuresAfterHundred(tokens, i+2)
			return 2 + n, v*100 + rest
		}
	}
	if low, ok := numeralAt(tokens, i+1); ok && low.role == tens && v >= 1 && v < 10 && isInteger(tokens[i]) && i == 0 {
		if m, rest := below100(tokens, i+1); m > 0 {
			return 1 + m, v*100 + rest // "3 fifty"
		}
	}
	n, w := timesHundred(tokens, i, 1, v)
	if n == 1 {
		return 0, 0
	}
	return n, w
}

func nextIsFigureOrUnit(tokens []Token, i int) bool {
	if i >= len(tokens) {
		return false
	}
	if tokens[i].Kind == Number {
		return tokens[i].Value == float64(int(tokens[i].Value))
	}
	n, ok := numerals[tokens[i].Text]
	return tokens[i].Kind == Word && ok && n.role <= tens
}

func afterNumber(tokens []Token, i int) bool {
	return i > 0 && tokens[i-1].Kind == Number
}

// numeralNear reports whether an ambiguous word such as "one" stands where a number
// would: beside another numeral or a figure, a decimal word, or alone in the text.
func numeralNear(tokens []Token, i int) bool {
	switch {
	case wordAt(tokens, i, "once") && wordAt(tokens, i-1, "at", "just", "only", "for", "all"):
		return false
	case len(tokens) == 1, numberFollows(tokens, i), inListOfFigures(tokens, i):
		return true
	}
	return i > 0 && numberLeads(tokens, i)
}

// numberFollows looks behind an ambiguous word: "one point two", "uno y medio", "uno el cloro".
func numberFollows(tokens []Token, i int) bool {
	if i+1 >= len(tokens) {
		return false
	}
	next := tokens[i+1]
	switch {
	case isFigureName(next), next.IsWord("point", "punto", "coma", "oh", "ppm"):
		return true
	case next.IsWord("an"):
		return wordAt(tokens, i+2, "a") && wordAt(tokens, i+3, "half")
	case next.IsWord("y", "and") && wordAt(tokens, i+2, "medio", "half", "a") && !wordAt(tokens, i+3, "hour", "hora"):
		return true
	case next.IsWord("el", "de", "for", "of", "para") && !wordAt(tokens, i, "one") && wordAt(tokens, i+2, "cloro", "ph", "bromo", "chlorine", "bromine", "the", "el"):
		return true
	}
	return next.IsWord("a", "to", "o", "or", "de", "and", "y") && numeralOrName(tokens, i+2)
}

// inListOfFigures knows "One. Seven-eight." and ", one,".
func inListOfFigures(tokens []Token, i int) bool {
	if i == 0 {
		return len(tokens) > 2 && tokens[1].IsMark(".,;/-") && (tokens[2].Kind == Number || isFigureName(tokens[2]))
	}
	return tokens[i-1].IsMark(":,") && i+1 < len(tokens) && tokens[i+1].IsMark(",")
}

// numberLeads looks before an ambiguous word: "chlorine just one", "between the one", "is one".
func numberLeads(tokens []Token, i int) bool {
	prev := tokens[i-1]
	switch {
	case prev.IsWord("just", "only", "solo", "apenas"):
		return wordAt(tokens, i-2, "chlorine", "cloro", "bromine", "bromo", "free", "total", "libre")
	case prev.IsWord("the", "el"):
		return wordAt(tokens, i-2, "between", "entre", "from")
	case prev.IsWord("to", "or", "a", "o"):
		return i > 1 && (tokens[i-2].Kind == Number || isFigureName(tokens[i-2]) || wordAt(tokens, i-2, "half", "medio", "zero", "cero"))
	}
	return prev.Kind == Number || isFigureName(prev) || prev.IsWord("point", "punto", "coma", "is", "its", "es", "esta", "chlorine", "cloro", "bromine", "bromo", "son", "fc", "cl", "at", "reads", "says", "marca", "ph", "en", "about", "around",
		"free", "total", "libre", "combined", "brom", "than", "under", "over", "below", "above", "least", "debajo")
}

// isPronoun knows "the bottom one eighty" and "the last one is seven": "one" after a
// word that points stands for a thing, not for a figure.
func isPronoun(tokens []Token, i int) bool {
	if wordAt(tokens, i-2, "the", "that", "this", "which") && i > 0 && tokens[i-1].Kind == Word && !wordAt(tokens, i-1, "is", "was", "reads", "says", "at", "about") && !isFigureWord(tokens, i+1) {
		return true
	}
	return tokens[i].Text != "once" && wordAt(tokens, i-1, "top", "bottom", "middle", "first", "second", "third", "fourth", "fifth", "last", "next", "other", "this", "that", "which", "another", "each", "every",
		"pink", "purple", "orange", "yellow", "green", "red", "blue", "brown", "tan", "dark", "light", "lower", "upper", "same", "hard", "easy")
}

func isFigureName(t Token) bool {
	_, ok := numerals[t.Text]
	return ok && t.Kind == Word
}

func isFigureWord(tokens []Token, i int) bool {
	_, ok := numeralAt(tokens, i)
	return ok || wordAt(tokens, i, "point", "oh", "and", "ppm")
}

func isHomophone(t Token) bool {
	_, ok := Homophone(t)
	return ok
}

func numeralOrName(tokens []Token, i int) bool {
	if i >= len(tokens) {
		return false
	}
	if _, ok := numerals[tokens[i].Text]; ok && tokens[i].Kind == Word {
		return true
	}
	return tokens[i].Kind == Number || tokens[i].IsWord("cloro", "bromo", "chlorine", "bromine", "libre")
}
