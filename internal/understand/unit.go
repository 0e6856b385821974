package understand

import (
	"strings"

	"tubhand/internal/understand/words"
)

// unitAt reads the unit at token i and how many tokens it takes. Words that make the
// number something else (minutes, teaspoons, dollars, people) are otherUnit.
func (in *input) unitAt(i int) (unit, int) {
	if in.mark(i, "°") {
		if u, n := in.unitAt(i + 1); u == fahrenheit || u == celsius {
			return u, n + 1
		}
		return degrees, 1
	}
	if i >= len(in.tokens) || in.listed[i] {
		return noUnit, 0
	}
	if in.mark(i, "-") && in.tokens[i].Glued && i+1 < len(in.tokens) && in.tokens[i+1].Glued {
		if u, n := in.unitAt(i + 1); n > 0 && u != noUnit {
			return u, n + 1
		}
		return noUnit, 0
	}
	if in.word(i, "of") && in.word(i+1, "a", "your", "our", "the", "those") && i+2 < len(in.tokens) {
		if u, n := in.volumeUnitAt(i + 2); n > 0 && u != noUnit && u != otherUnit {
			return u, n + 2
		}
	}
	if in.word(i, "ish") {
		u, n := in.unitAt(i + 1)
		return u, n + 1
	}
	for _, kind := range [...]func(int) (unit, int){in.chemicalUnit, in.temperatureUnit, in.volumeUnitAt, in.countedUnit} {
		if u, n := kind(i); n > 0 {
			return u, n
		}
	}
	return noUnit, 0
}

// chemicalUnit reads ppm, mg/l, ppb, grams per litre.
func (in *input) chemicalUnit(i int) (unit, int) {
	switch in.tokens[i].Text {
	case "ppm", "mg", "ppms":
		if in.mark(i+1, "/") && in.word(i+2, "l", "lt") {
			return perMillion, 3
		}
		return perMillion, 1
	case "parts", "partes", "part":
		if in.word(i+1, "per", "por", "a") && in.word(i+2, "billion", "billon", "bill") {
			return perBillion, 3
		}
		if in.word(i+1, "per", "por", "a") && in.word(i+2, "million", "millon") {
			return perMillion, 3
		}
		return perMillion, 1
	case "ppb":
		return perBillion, 1
	case "ppt", "ppth":
		return gramsPerLitre, 1
	case "gpg", "grains":
		return grainsPerGallon, 1 + 2*btoi(in.word(i+1, "per") && in.word(i+2, "gallon", "gal"))
	case "percent", "porciento":
		return in.percent(), 1
	case "por":
		if in.word(i+1, "ciento") {
			return in.percent(), 2
		}
	case "grams", "gramos", "gram":
		if in.word(i+1, "per", "por", "a") && in.word(i+2, "liter", "litre", "litro", "l") {
			return gramsPerLitre, 3
		}
	}
	return noUnit, 0
}

// temperatureUnit reads degrees of either scale.
func (in *input) temperatureUnit(i int) (unit, int) {
	switch in.tokens[i].Text {
	case "f", "fahrenheit", "farenheit", "fahrenhiet", "farenheight":
		return fahrenheit, 1
	case "fh":
		return frenchDegrees, 1
	case "dh", "dkh":
		return germanDegrees, 1
	case "c", "celsius", "centigrade", "centigrados", "celcius":
		return celsius, 1
	case "degrees", "degree", "deg", "degs", "grados", "grado", "grds", "degress", "degreees", "gradios":
		switch {
		case in.word(i+1, "franceses", "french", "fh"):
			return frenchDegrees, 2
		case in.word(i+1, "alemanes", "german", "dh", "dkh"):
			return germanDegrees, 2
		}
		if u, n := in.unitAt(i + 1); u == fahrenheit || u == celsius {
			return u, n + 1
		}
		return degrees, 1
	}
	return noUnit, 0
}

// countedUnit reads what makes a number no measure of water: hours, spoons, people.
func (in *input) countedUnit(i int) (unit, int) {
	w := in.tokens[i].Text
	switch {
	case in.word(i, "a", "p") && in.mark(i+1, ".") && in.word(i+2, "m"):
		return otherUnit, 3
	case in.word(i, "of") && in.word(i+1, "them", "those", "these", "the") && (!in.word(i+1, "the") || in.word(i+2, "other", "others", "same", "stuff")):
		return otherUnit, 2
	case in.mark(i, "%"):
		return in.percent(), 1
	case in.isSecondOne(i):
		return noUnit, 0
	case isOtherUnit(w) || in.lengthMark(i) || in.isCounted(i):
		return otherUnit, 1
	case in.word(i, "more", "extra", "mas", "full", "level", "heaping") && i+1 < len(in.tokens) && isOtherUnit(in.tokens[i+1].Text):
		return otherUnit, 2
	}
	return noUnit, 0
}

// isSecondOne knows the place in a row in "first 3 second 7.4", which is no unit of time.
func (in *input) isSecondOne(i int) bool {
	return in.word(i, "second", "segundo", "segunda") && (in.number(i+1) && !in.word(i+2, "gal", "gallon", "min", "minute") || in.word(i+1, "one", "pad", "square", "is", "was", "cuadro", "cuadrito") && in.number(i+2)) &&
		in.hasWord("first", "1st", "primero", "primera", "primer", "third", "tercero", "tercera")
}

// percent is a measure of salt, and of nothing else that is read.
func (in *input) percent() unit {
	if in.hasWord("salt", "salinity", "sal", "salinidad", "tds") {
		return perHundred
	}
	return otherUnit
}

// isCounted knows "3 squares" and "tres colores": a whole number before a noun in the
// plural counts things, whatever they are.
func (in *input) isCounted(i int) bool {
	t := in.tokens[i]
	if !in.number(i-1) || t.Kind != words.Word || t.Glued || len(t.Text) < 4 || t.Text[len(t.Text)-1] != 's' || in.tokens[i-1].Value != float64(int(in.tokens[i-1].Value)) {
		return false
	}
	if in.asksVolume() && in.tokens[i-1].Value >= 100 {
		return false
	}
	if strings.HasSuffix(t.Text, "ss") || strings.HasSuffix(t.Text, "mos") || isNoPlural(t.Text) || isSpelledUnit(t.Text) {
		return false
	}
	_, named := in.nameAt(i)
	return !named
}

// isNoPlural lists words that end in "s" and follow a reading without being counted.
func isNoPlural(w string) bool {
	switch w {
	case "this", "thus", "does", "says", "reads", "shows", "looks", "seems", "gives", "comes", "goes", "gets", "matches", "plus", "minus", "thanks", "thats", "lets", "whats", "always",
		"sometimes", "perhaps", "besides", "towards", "across", "means", "appears", "stays", "tops", "sits", "keeps", "makes", "feels", "wants", "needs", "theres", "heres", "hers", "ours", "yours", "theirs",
		"ppms", "pues", "menos", "entonces", "gracias", "estas", "estos", "esos", "esas", "unos", "unas", "despues", "antes", "ademas", "quizas", "jamas", "exactos", "exactas", "justos", "justas", "redondos", "pelones", "parejos", "cabales", "dices", "tienes", "creo", "sales", "marcas",
		"yikes", "oops", "whoops", "woops", "ups", "buenas", "buenos", "apenas", "cerrados", "cerraditos", "mientras", "atras", "nomas", "demas", "whos", "wheres", "hows":
		return true
	}
	return false
}

// isSpelledUnit forgives slips in the units of volume.
func isSpelledUnit(w string) bool { return misspeltVolume(w) != noUnit }

func misspeltVolume(w string) unit {
	if len(w) < 5 {
		return noUnit
	}
	for _, known := range [...]struct {
		word string
		u    unit
	}{{"gallons", gallons}, {"galones", gallons}, {"gallon", gallons}, {"liters", litres}, {"litros", litres}, {"litres", litres}} {
		if w[0] == known.word[0] && words.Distance(w, known.word, 1+btoi(len(w) > 6)) <= 1+btoi(len(w) > 6) {
			return known.u
		}
	}
	return noUnit
}

// lengthMark knows 6' and 34" after a figure.
func (in *input) lengthMark(i int) bool {
	if in.mark(i, "'") && in.number(i+1) && in.tokens[i+1].Glued && len(in.tokens[i+1].Text) == 1 && !in.asksVolume() && in.number(i-1) && in.tokens[i-1].Value >= 6 && in.tokens[i-1].Value <= 8 {
		return false // "7'4" with the stroke for a point
	}
	if in.mark(i, "'") && in.word(i+1, "s") && in.tokens[i+1].Glued {
		return false // "both 4's"
	}
	return in.mark(i, "'\"") && in.tokens[i].Glued && in.number(i-1) && !in.mark(i-2, "'\"")
}

func (in *input) volumeUnitAt(i int) (unit, int) {
	for _, kind := range [...]func(int) (unit, int){in.gallonsAt, in.imperialAt, in.weightOfWater} {
		if u, n := kind(i); n > 0 {
			return u, n
		}
	}
	switch {
	case in.word(i, "l", "lt", "lts", "ltr", "ltrs", "litre", "litres", "liter", "liters", "litro", "litros", "litters", "leters", "liers"):
		return litres, 1
	case in.word(i, "hl", "hectolitres", "hectoliters", "hectolitros", "hectolitro"):
		return hectolitres, 1
	case in.word(i, "m3", "cbm", "metros", "metro", "cubic", "cu", "m", "dm", "pies", "pie"):
		return in.cubicAt(i)
	case i >= 0 && i < len(in.tokens) && in.tokens[i].Kind == words.Word:
		if u := misspeltVolume(in.tokens[i].Text); u != noUnit {
			return u, 1
		}
	}
	return noUnit, 0
}

// gallonsAt reads gallons, with what makes them imperial; "g" alone is gallons only where
// the volume was asked for, and "g/l" no volume at all.
func (in *input) gallonsAt(i int) (unit, int) {
	switch {
	case in.word(i, "us", "u", "american", "usa") && in.word(i+1, "gal", "gals", "gallon", "gallons"):
		return gallons, 2
	case in.word(i, "us", "usa") && in.asksVolume() && in.number(i-1) && in.hasWord("imp", "imperial", "uk"):
		return gallons, 1
	case !in.word(i, "gal", "gals", "gallon", "gallons", "galon", "galones", "gl", "gls", "gallones", "gallens", "galons", "gallen", "galls", "gall", "gsl", "g", "galloons"):
		return noUnit, 0
	case in.word(i+1, "imperial", "imp", "imperiales", "uk", "ingleses", "britanicos"):
		return imperialGallons, 2
	case in.word(i, "g") && in.mark(i+1, "/") && in.word(i+2, "l"):
		return gramsPerLitre, 3
	case in.word(i, "g") && !in.asksVolume():
		return otherUnit, 1
	}
	return gallons, 1
}

func (in *input) imperialAt(i int) (unit, int) {
	switch {
	case in.word(i, "imperial", "imp", "uk", "british", "english", "canadian") && in.word(i+1, "gal", "gals", "gallon", "gallons", "galones"):
		return imperialGallons, 2
	case in.word(i, "imperial", "imperials", "imperiales", "imp") && in.asksVolume():
		return imperialGallons, 1
	}
	return noUnit, 0
}

// weightOfWater reads "kilos of water", "lbs of water" and, asked for the volume, tonnes.
func (in *input) weightOfWater(i int) (unit, int) {
	ofWater := in.word(i+1, "of", "de") && in.word(i+2, "water", "agua")
	switch {
	case ofWater && in.word(i, "lbs", "lb", "pounds", "libras"):
		return poundsOfWater, 3
	case ofWater && in.word(i, "kg", "kilos", "kilograms", "kgs"):
		return litres, 3
	case in.word(i, "tonnes", "tonne", "toneladas", "tonelada") && in.asksVolume():
		return cubicMetres, 1
	}
	return noUnit, 0
}

func (in *input) cubicAt(i int) (unit, int) {
	switch {
	case in.word(i, "cubic", "cu") && in.word(i+1, "feet", "ft", "foot"):
		return cubicFeet, 2
	case in.word(i, "cubic", "cu") && in.word(i+1, "metres", "meters", "metre", "meter", "m"):
		return cubicMetres, 2
	case in.word(i, "pies", "pie") && in.word(i+1, "cubicos", "cubico"):
		return cubicFeet, 2
	case in.word(i, "cubic", "cu") && in.mark(i+1, ".") && in.word(i+2, "ft", "feet"):
		return cubicFeet, 3
	case in.word(i, "metros", "metro") && in.word(i+1, "cubicos", "cubico"):
		return cubicMetres, 2
	case in.word(i, "dm") && in.number(i+1) && in.tokens[i+1].Glued && in.tokens[i+1].Value == 3:
		return litres, 2
	case in.word(i, "m") && in.number(i+1) && in.tokens[i+1].Glued && in.tokens[i+1].Value == 3:
		return cubicMetres, 2
	}
	return noUnit, 0
}

// isOtherUnit knows nouns that are counted but are no measure of water.
func isOtherUnit(w string) bool {
	switch w {
	case "min", "mins", "minute", "minutes", "minuto", "minutos", "minutitos", "hour", "hours", "hr", "hrs", "hora", "horas", "sec", "secs", "second", "seconds",
		"segundo", "segundos", "day", "days", "dia", "dias", "week", "weeks", "wk", "wks", "semana", "semanas", "month", "months", "mes", "meses", "year", "years",
		"yr", "yrs", "ano", "anos", "am", "pm", "oclock", "h", "s", "mph",
		"tsp", "tsps", "teaspoon", "teaspoons", "tbsp", "tbsps", "tablespoon", "tablespoons", "cup", "cups", "oz", "ounce", "ounces", "lb", "lbs", "pound",
		"pounds", "gram", "grams", "gramos", "kg", "kilo", "kilos", "cucharada", "cucharadas", "cucharadita", "cucharaditas", "taza", "tazas", "onza", "onzas", "libra",
		"libras", "scoop", "scoops", "cap", "caps", "capful", "capfuls", "tapa", "tapas", "tapita", "tapitas", "tablet", "tablets", "tab", "tabs", "pastilla", "pastillas", "drop", "drops", "gotas",
		"ml", "cc", "quart", "quarts", "qt", "pint", "pints", "bag", "bags", "bolsa", "bolsas", "packet", "packets", "sobre", "sobres", "spoon", "spoons", "spoonfuls",
		"person", "persons", "people", "persona", "personas", "gente", "adults", "kids", "seater", "seats", "seat", "man", "guests", "asientos", "lugares", "plazas", "guys", "ninos",
		"dollars", "bucks", "usd", "pesos", "times", "veces", "vez", "jets", "pumps", "bombas", "strips", "tiras", "pads", "tests", "steps", "bottles", "jars", "cartridges", "filters",
		"st", "nd", "rd", "th", "pack", "packs", "pk", "count", "ct", "piece", "pieces", "ft", "foot", "feet", "inch", "inches", "in", "cm", "mm", "pies", "pulgadas", "pie", "pulgada", "gpm", "gph", "lpm", "volts", "v", "amp", "amps", "hp", "psi", "watts", "kw", "miles", "star", "p", "a", "squares", "cuadritos", "buckets", "bucket", "cubetas", "cubeta", "baldes", "friends", "houses", "tubs", "nitrate", "nitrites", "nitrates", "nitrite", "iron", "copper", "ammonia", "orp", "mv", "magnesium", "fluoride", "borate", "borates", "silica", "nitrato", "nitratos", "cobre", "hierro", "boratos":
		return w != "a" && w != "p" && w != "in" && w != "cc"
	}
	return false
}

// heats reports whether the text is about temperature.
func (in *input) heats() bool {
	if in.ctx.Step == "heat" {
		return true
	}
	for i, t := range in.tokens {
		if t.IsWord("hot") && in.word(i+1, "tub", "tubs") {
			continue
		}
		if t.IsWord("set") && in.word(i+1, "to", "at") && in.number(i+2) {
			return true
		}
		if t.IsWord("heat", "heating", "heats", "heated", "heater", "warm", "warmer", "warming", "hot", "cold", "temp", "temperature", "thermometer", "degrees", "budge", "climbing",
			"calienta", "calentar", "caliente", "calientita", "calentador", "calentando", "temperatura", "termometro", "grados", "fria", "tibia", "sube", "thermostat", "stuck", "falling", "hotter", "colder", "lukewarm", "chilly") {
			return true
		}
	}
	return false
}
