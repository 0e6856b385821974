package understand

// prefer applies "the strip says 7.2, the drops 7.6, trust the drops": of two numbers of
// one kind, the one that the owner goes by is kept.
func (in *input) prefer(numbers []amount) []amount {
	if len(numbers) < 2 {
		return numbers
	}
	for i := range in.tokens {
		at, ok := in.choiceOf(i)
		if !ok {
			continue
		}
		k := in.numberMeant(numbers, at)
		if k < 0 {
			continue
		}
		kept := make([]amount, 0, len(numbers))
		for j, a := range numbers {
			if j == k || !sameSize(a.value, numbers[k].value) {
				kept = append(kept, a)
			}
		}
		return kept
	}
	return numbers
}

// choiceOf finds "trust the", "go with the", "hazle caso a la" at token i and returns
// where what is chosen stands.
func (in *input) choiceOf(i int) (int, bool) {
	if !in.word(i, "trust", "believe", "use", "go", "going", "take", "quedate", "quedese", "hazle", "hagale", "creo", "creele", "creamosle", "creemosle", "hagamosle", "vamonos", "toma", "tome", "confio", "prefer", "usa", "use", "goes") {
		return 0, false
	}
	k := i + 1
	for k < i+4 && in.word(k, "with", "by", "con", "caso", "a", "en", "le", "more", "mas", "to", "al") {
		k++
	}
	if in.word(k, "the", "la", "el", "my", "mi", "lo", "that") {
		return k + 1, k+1 < len(in.tokens)
	}
	return k, k > i+1 && in.word(k-1, "al")
}

// numberMeant returns which number is chosen by a place in the row ("the second") or by
// the thing that showed it ("the drops"), or -1.
func (in *input) numberMeant(numbers []amount, at int) int {
	before := 0
	for before < len(numbers) && numbers[before].from < at {
		before++
	}
	switch k := in.ordinal(at, before); {
	case before < 2:
		return -1
	case k > 0 && k <= before:
		return k - 1
	case in.number(at):
		return -1
	}
	for i := range at {
		if in.tokens[i].Text != in.tokens[at].Text {
			continue
		}
		for k := range before {
			if in.within(numbers[k].to, i, "with", "on", "by", "from", "con", "en", "de", "del", "the", "la", "el", "las", "los", "my", "mi") {
				return k
			}
		}
		for k := range before {
			if d := numbers[k].from - i; d > 0 && d <= 5 && (k == 0 || numbers[k-1].from < i) {
				return k
			}
		}
	}
	return -1
}

// within reports whether one to three of the words given, and nothing else, stand at [from,to).
func (in *input) within(from, to int, options ...string) bool {
	if to <= from || to-from > 3 {
		return false
	}
	for i := from; i < to; i++ {
		if !in.word(i, options...) {
			return false
		}
	}
	return true
}
