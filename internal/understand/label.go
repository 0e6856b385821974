package understand

import "tubhand/internal/understand/words"

// isLabel knows numbers that name a thing or count it: "unit 4", "step 3", "E5", "#12",
// "$40", "all three", "the last one".
func (in *input) isLabel(i int) bool {
	if in.word(i-1, "unit", "step", "room", "cabin", "apt", "house", "lot", "site", "day", "number", "paso", "casa", "cuarto", "cabana", "unidad",
		"numero", "option", "opcion", "route", "building", "age", "page", "edad", "villa", "suite", "dia", "pagina", "pump", "version", "aged") || in.word(i-1, "be", "ill") && in.tokens[i].Value >= 30 && in.ctx.Asked == AskedReadings && !in.asks(WaterTemp) {
		return true
	}
	if in.word(i+1, "series", "serie", "edition", "model", "modelo") || in.word(i-1, "model", "modelo", "series", "serie", "serial", "invoice", "factura", "order", "pedido", "rev", "code", "codigo", "zip", "gate", "account", "ticket", "sku", "part", "nitrate", "nitrates", "nitrite", "iron", "copper", "ammonia", "nitrato", "nitratos", "cobre", "hierro") ||
		in.word(i-1, "is", "es", "number", "numero", "no") && in.word(i-2, "number", "numero", "num", "serial", "code", "codigo", "age") {
		return true
	}
	if in.mark(i-1, "$#€£") || in.isYearAt(i) {
		return true
	}
	if in.word(i-1, "de") && in.word(i-2, "hija", "hijo", "nino", "nina", "nieto", "nieta", "sobrino", "sobrina") {
		return true
	}
	t := in.tokens[i]
	if t.Spelled {
		return in.isCount(i)
	}
	if i > 0 && t.Glued && in.tokens[i-1].Kind == words.Word && len(in.tokens[i-1].Text) <= 3 {
		_, isName := in.nameAt(i - 1)
		return !isName && !in.word(i-1, "x", "is", "at", "to", "de", "en", "es", "by", "por", "of", "y", "l", "w", "h", "d")
	}
	return false
}

// isCount knows spelled numbers that count or point: "all three", "the second one is".
func (in *input) isCount(i int) bool {
	if in.word(i-1, "all", "these", "those", "los", "las", "every", "each", "either", "estos", "estas", "both", "my", "our", "mis", "other", "us") {
		return true
	}
	if text := in.tokens[i].Text; text != "one" && text != "uno" && text != "una" {
		return in.word(i-1, "the") && in.tokens[i].Value < 6 && in.tokens[i].Value > 1 && !in.word(i-2, "at", "on", "between")
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
