package understand

import (
	"strings"

	"tubhand/internal/understand/words"
)

// isLabel knows numbers that name a thing or count it: "unit 4", "step 3", "E5", "#12",
// "$40", "all three", "the last one".
func (in *input) isLabel(i int) bool {
	if in.namedByWords(i) || in.isShortDate(i) || in.isAgeTold(i) || in.countsOff(i) || in.mark(i-1, "$#€£") || in.isYearAt(i) {
		return true
	}
	if u, n := in.volumeUnitAt(i + 1); in.tokens[i].Spelled {
		return !(n > 0 && u != noUnit) && in.isCount(i)
	}
	return in.gluedToWord(i)
}

// isShortDate knows the month and the day of "on 11/24" and "tested 3-22:".
func (in *input) isShortDate(i int) bool {
	if in.number(i-2) && in.mark(i-1, "/-") && in.tokens[i].Glued {
		i -= 2
	}
	if !in.number(i) || !in.number(i+2) || !in.mark(i+1, "/-") || !in.tokens[i+1].Glued || !in.tokens[i+2].Glued || in.mark(i+3, "/-") {
		return false
	}
	month, day := in.tokens[i].Value, in.tokens[i+2].Value
	if month > 12 {
		month, day = day, month
	}
	if month < 1 || month > 12 || day < 1 || day > 31 || month != float64(int(month)) || day != float64(int(day)) {
		return false
	}
	return in.word(i-1, "on", "since", "dated", "date", "fecha", "del", "bought", "expires", "expired", "exp", "vencen", "until") || in.mark(i+3, ":") && i == 0 && day > 12
}

// namedByWords looks at the words beside a number that make it a name: "model 880",
// "the 300 series", "12 in a bottle", "nitrate 20".
func (in *input) namedByWords(i int) bool {
	switch {
	case in.word(i-1, "waited"), in.word(i-1, "at", "tub", "spa", "tina") && in.mark(i+1, ":") && in.number(i+2) && !in.tokens[i+2].Glued,
		in.word(i-1, "pay", "paid", "pays", "cost", "costs", "pague", "pago", "costo", "cuesta", "spent", "gaste"),
		in.word(i-1, "unit", "step", "room", "cabin", "apt", "house", "lot", "site", "day", "number", "paso", "casa", "cuarto", "cabana", "unidad",
			"numero", "option", "opcion", "route", "building", "age", "page", "edad", "villa", "suite", "dia", "pagina", "pump", "version", "aged"),
		in.word(i-1, "model", "modelo", "series", "serie", "serial", "invoice", "factura", "order", "pedido", "rev", "code", "codigo", "zip", "gate", "account", "ticket", "sku", "part"),
		in.word(i-1, "nitrate", "nitrates", "nitrite", "iron", "copper", "ammonia", "nitrato", "nitratos", "cobre", "hierro", "weight", "weighs", "pesa", "peso"),
		in.word(i-1, "po") && in.tokens[i].Glued,
		in.word(i+1, "series", "serie", "edition", "model", "modelo"):
		return true
	case in.word(i-1, "is", "es", "number", "numero", "no") && in.word(i-2, "number", "numero", "num", "serial", "code", "codigo", "age"):
		return true
	}
	return in.word(i+1, "in", "per", "to") && in.word(i+2, "a", "the", "each", "every") && in.word(i+3, "bottle", "pack", "box", "jar", "tube", "vial", "kit", "container")
}

// isAgeTold knows "my mother in law is 78", "she's twelve" and "una hija de 5".
func (in *input) isAgeTold(i int) bool {
	x := in.tokens[i].Value
	if x < 2 || x != float64(int(x)) {
		return false
	}
	if in.word(i-1, "de") && in.word(i-2, "hija", "hijo", "nino", "nina", "nieto", "nieta", "sobrino", "sobrina") {
		return true
	}
	if in.word(i-1, "is", "es", "tiene", "turned", "was", "cumplio", "turns") && i > 1 && (isPerson(in.tokens[i-2].Text) && in.tokens[i-2].Text != "im" || in.word(i-2, "law")) {
		return true
	}
	if in.ctx.Asked != AskedReadings || in.asks(WaterTemp) {
		return false
	}
	return in.word(i-1, "shes", "hes", "im") || in.word(i-1, "be") && in.word(i-2, "will", "ill", "gonna", "to") && x >= 30
}

// gluedToWord knows "E5" and "HT-350".
func (in *input) gluedToWord(i int) bool {
	t := in.tokens[i]
	if i == 0 || !t.Glued {
		return false
	}
	if in.mark(i-1, "-") && in.tokens[i-1].Glued && i > 1 {
		w := in.tokens[i-2]
		return w.Kind == words.Word && len(w.Text) <= 4 && w.Raw == strings.ToUpper(w.Raw) && !in.quantityAt(i-2)
	}
	if in.tokens[i-1].Kind != words.Word || len(in.tokens[i-1].Text) > 3 {
		return false
	}
	return !in.quantityAt(i-1) && !in.word(i-1, "x", "is", "at", "to", "de", "en", "es", "by", "por", "of", "y", "l", "w", "h", "d")
}

// countsOff knows "strip #3 of 50" and "step 3 of 8".
func (in *input) countsOff(i int) bool {
	if in.number(i+2) && in.word(i+1, "of", "de") {
		return in.mark(i-1, "#") || in.word(i-1, "strip", "number", "step", "part", "day", "text", "test", "tira", "paso")
	}
	return in.number(i-2) && in.word(i-1, "of", "de") && (in.mark(i-3, "#") || in.word(i-3, "strip", "number", "step", "part", "day", "text", "test", "tira", "paso"))
}

// isCount knows spelled numbers that count or point: "all three", "the second one is".
func (in *input) isCount(i int) bool {
	if in.word(i-1, "all", "these", "those", "los", "las", "every", "each", "either", "estos", "estas", "both", "my", "our", "mis", "other", "us") {
		return true
	}
	if text := in.tokens[i].Text; text != "one" && text != "uno" && text != "una" {
		return in.word(i-1, "the") && in.tokens[i].Value < 6 && in.tokens[i].Value > 1 && !in.word(i-2, "at", "on", "between", "and", "y", "to")
	}
	return in.word(i-1, "the", "this", "that", "last", "next", "first", "second", "third", "other", "chlorine", "ph", "which", "no", "little", "big", "good", "bad", "new", "old", "right", "wrong", "same", "purple", "pink", "alkalinity") &&
		(in.word(i+1, "is", "reads", "says", "was", "looks", "isnt", "i", "hold", "came") || in.mark(i+1, ",.") || in.endsClause(i) || in.number(i+1)) &&
		!(in.word(i-1, "chlorine", "ph", "alkalinity") && in.endsClause(i)) ||
		in.word(i+1, "strip", "of", "more", "thing", "that", "day", "side", "is", "says", "reads")
}

func (in *input) isYearAt(i int) bool {
	t := in.tokens[i]
	return !t.Spelled && len(t.Text) == 4 && t.Value >= 1985 && t.Value <= 2032 && t.Value == float64(int(t.Value)) &&
		in.word(i-1, "in", "since", "from", "en", "del", "de", "desde", "may", "june", "july", "august", "march", "april", "year", "ano", "expired", "a", "the")
}
