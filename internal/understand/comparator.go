package understand

// comparator knows "over", "at least", "<" and their like before a number. It returns
// how many tokens it takes and whether the high end is open.
func (in *input) comparator(i int) (int, bool) {
	if n, open := in.pastMark(i); n > 0 {
		return n, open
	}
	for _, kind := range [...]func(int) (int, bool){in.comparatorWord, in.comparatorAbove, in.comparatorBelow} {
		if n, open := kind(i); n > 0 {
			return n, open
		}
	}
	return 0, false
}

// comparatorWord knows "no more than", "maxed out at", "darker than" and signs.
func (in *input) comparatorWord(i int) (int, bool) {
	switch {
	case in.word(i, "no", "not", "nunca", "never", "nothing") && in.word(i+1, "more", "higher", "over", "above", "mas", "greater", "past"):
		return 2 + btoi(in.word(i+2, "than", "de", "que")), false
	case in.word(i, "maxed", "maxes", "max", "pegged", "topped", "tops", "maxing", "topping") && (in.word(i+1, "at") || in.word(i+1, "out") && in.word(i+2, "at")):
		return 2 + btoi(in.word(i+1, "out")), true
	case in.word(i, "darker", "lighter") && in.word(i+1, "than"):
		return 2 + btoi(in.word(i+2, "the")), in.word(i, "darker")
	case in.mark(i, "<>"):
		return 1 + btoi(in.mark(i+1, "=")), in.mark(i, ">")
	}
	return 0, false
}

// comparatorAbove knows "over", "more than", "at least" and their like.
func (in *input) comparatorAbove(i int) (int, bool) {
	switch {
	case in.word(i, "over", "above", "past", "exceeds", "exceeding", "beyond", "sobre"),
		in.word(i, "mayor", "encima", "arriba", "pasado", "pasa", "pasan", "paso") && in.word(i+1, "de", "que", "a", "los", "las") && !in.word(i-1, "no", "lo", "la", "nunca"):
		return 1 + btoi(in.word(i+1, "de", "que", "a", "of", "the", "los", "las")), true
	case in.word(i, "more", "greater", "higher", "hotter", "warmer", "mas", "bigger") && in.word(i+1, "than", "de", "que"):
		return 2, true
	case in.word(i, "at", "por", "al") && in.word(i+1, "least", "lo", "menos"):
		return 2 + btoi(in.word(i+2, "menos")), true
	case in.word(i, "minimum", "minimo"):
		return 1 + btoi(in.word(i+1, "of", "de")), true
	case in.word(i, "north") && in.word(i+1, "of"):
		return 2, true
	}
	return 0, false
}

// pastMark knows "over the max (10)" and "below what the chart shows, 6.2": which end of
// the chart is passed is told, and the number names that end.
func (in *input) pastMark(i int) (int, bool) {
	high := in.word(i, "over", "above", "past", "beyond", "arriba", "encima") || in.word(i, "mas") && in.word(i+1, "de") && in.word(i+2, "lo") || in.word(i, "more") && in.word(i+1, "than") && in.word(i+2, "what", "the")
	if !high && !in.word(i, "below", "under", "debajo", "abajo") {
		return 0, false
	}
	k := i + 1
	for k < i+9 && in.word(k, "than", "the", "my", "what", "de", "del", "la", "lo", "el", "que", "max", "maximum", "min", "minimum", "maximo", "minimo", "limit", "top", "bottom", "highest", "lowest", "last", "first", "mas",
		"bajo", "alto", "chart", "card", "strip", "bottle", "scale", "tabla", "escala", "shows", "goes", "marca", "color", "colour", "square", "mark", "cuadro", "of", "on", "can", "show", "it", "which", "is", "ultimo", "ultima") {
		k++
	}
	for k > i+2 && in.mark(k, ",(=:") {
		k++
	}
	if k < i+3 || !in.number(k) {
		return 0, false
	}
	return k - i, high
}

// comparatorBelow knows "under", "at most" and their like.
func (in *input) comparatorBelow(i int) (int, bool) {
	switch {
	case in.word(i, "under", "below", "beneath"), in.word(i, "menor", "menores", "inferior") && in.word(i+1, "a", "al") && in.number(i+2), in.isBelowInSpanish(i):
		return 1 + btoi(in.word(i+1, "de", "que", "a", "del", "the")), false
	case in.word(i, "no") && in.word(i+1, "llega", "llego", "alcanza", "llegan") && in.word(i+2, "a", "al", "ni"):
		return 3 + btoi(in.word(i+3, "a", "los", "las")), false
	case in.word(i, "a", "just", "bit", "little", "tad", "slightly") && in.word(i+1, "little", "bit", "shy", "short", "tad", "smidge", "less"):
		return in.shyOf(i)
	case in.word(i, "shy", "short") && in.word(i+1, "of"), in.word(i, "not") && in.word(i+1, "quite"), in.word(i, "at") && in.word(i+1, "most"),
		in.word(i, "less", "lower", "fewer", "colder", "cooler", "menos", "smaller", "menor") && in.word(i+1, "than", "de", "que"):
		return 2, false
	case in.word(i, "up") && in.word(i+1, "to") && in.asksVolume() && !in.heats():
		return 2, false
	}
	return 0, false
}

// isBelowInSpanish knows "debajo de" and "bajo de", but not "bajo de 8 a 7" or "se bajo".
func (in *input) isBelowInSpanish(i int) bool {
	return in.word(i, "debajo", "abajo", "menor", "bajo") && in.word(i+1, "de", "que", "del") && !(in.number(i+2) && in.word(i+3, "a", "hasta")) && !in.word(i-1, "de", "el", "la", "ya", "se", "y")
}

// suffix knows "+", "or more", "o mas", "and up", "or less" after a number.
func (in *input) suffix(i int) (int, bool) {
	switch {
	case in.mark(i, "+") && (!in.number(i+1) || in.tokens[i].Glued && !in.tokens[i+1].Glued):
		return 1, true
	case in.mark(i, "-") && in.tokens[i].Glued && !in.number(i+1) && (i+1 >= len(in.tokens) || !in.tokens[i+1].Glued || in.mark(i+1, ",;.")) && in.usesPlus():
		return 1, false
	case in.word(i, "or", "o", "and", "y") && in.word(i+1, "more", "mas", "higher", "above", "up", "over", "greater", "beyond", "arriba", "better"):
		return 2, true
	case in.word(i, "or", "o", "and", "y") && in.word(i+1, "less", "menos", "lower", "below", "under", "abajo"):
		return 2, false
	case in.word(i, "plus") && !in.word(i+1, "or", "minus") && !in.number(i+1) && !in.quantityAt(i+1):
		return 1, true
	case in.word(i, "para") && in.word(i+1, "arriba"):
		return 2, true
	}
	return 0, false
}

// usesPlus reports whether the owner writes "10+" elsewhere, so that "7.2-" means or less.
func (in *input) usesPlus() bool {
	for i := range in.tokens {
		if in.mark(i, "+") && in.tokens[i].Glued && in.number(i-1) {
			return true
		}
	}
	return false
}

// shyOf reads "a bit under", "a little less than", "just shy of" and "a tad over".
func (in *input) shyOf(i int) (int, bool) {
	for n := 1; n < 4; n++ {
		if m, high := in.plainComparator(i + n); m > 0 {
			return n + m, high
		}
	}
	return 0, false
}

func (in *input) plainComparator(i int) (int, bool) {
	switch {
	case in.word(i, "under", "below"):
		return 1, false
	case in.word(i, "over", "above"):
		return 1, true
	case in.word(i, "less") && in.word(i+1, "than"), in.word(i, "shy", "short") && in.word(i+1, "of"):
		return 2, false
	case in.word(i, "more") && in.word(i+1, "than"):
		return 2, true
	}
	return 0, false
}
