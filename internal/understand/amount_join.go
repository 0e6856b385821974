package understand

// withoutFactors keeps of "7 drops x 25, 175" the product alone.
func (in *input) withoutFactors(all []amount) []amount {
	for k := 1; k < len(all); k++ {
		factor, product := all[k-1], all[k]
		if factor.bounded || product.bounded || factor.value.Low <= 1 {
			continue
		}
		for i := max(0, factor.from-4); i < factor.from; i++ {
			if in.number(i) && in.word(i+1, "drops", "drop", "gotas", "x", "times", "por") && in.tokens[i].Value*factor.value.Low == product.value.Low {
				kept := append([]amount(nil), all[:k-1]...)
				if n := len(kept); n > 0 && kept[n-1].from == i {
					kept = kept[:n-1]
				}
				return append(kept, all[k:]...)
			}
		}
	}
	return all
}

// appendAmount joins "more than 400, less than 500" and drops "3 (three)".
func (in *input) appendAmount(out []amount, a amount) []amount {
	if len(out) == 0 {
		return append(out, a)
	}
	last := &out[len(out)-1]
	switch {
	case in.isRestInLitres(*last, a):
		x := 1000*last.value.Low + a.value.Low
		last.value, last.unit, last.to = Value{Low: x, High: x}, litres, a.to
		return out
	case last.value.OpenHigh && !a.bounded && in.butNot(a.from) && a.value.Low > last.value.Low:
		last.value = Value{Low: last.value.Low, High: a.value.Low}
		last.to = a.to
		return out
	case last.value.OpenHigh && a.value.OpenLow && a.value.High > last.value.Low && a.from-last.to <= 2 && !in.nameBetween(last.to, a.from):
		last.value = Value{Low: last.value.Low, High: a.value.High}
		last.to = a.to
		if last.unit == noUnit {
			last.unit = a.unit
		}
		return out
	case last.value == a.value && last.spelled != a.spelled && in.mark(a.from-1, "("), in.nearTo(a.from), in.isWhereFrom(*last, a):
		return out
	}
	return append(out, a)
}

// isRestInLitres knows "1 m3 con 200 litros".
func (in *input) isRestInLitres(cubic, a amount) bool {
	return cubic.unit == cubicMetres && a.unit == litres && !cubic.bounded && !a.bounded && a.value.Low < 1000 && a.from-cubic.to == 1 && in.word(cubic.to, "con", "y", "and", "plus", "mas")
}

// isWhereFrom knows the second number of "dropped to 7.2 from 7.8".
func (in *input) isWhereFrom(now, a amount) bool {
	return now.to == a.from-1 && in.word(a.from-1, "from", "desde") && in.word(now.from-1, "to", "at", "a") && a.unit == now.unit
}

// nameBetween reports whether a quantity is named at [from,to).
func (in *input) nameBetween(from, to int) bool {
	for i := from; i < to; i++ {
		if in.quantityAt(i) {
			return true
		}
	}
	return false
}

// butNot knows "but not 500" and "pero no tanto como el 7.8" before token i.
func (in *input) butNot(i int) bool {
	for k := i - 1; k > 0 && k >= i-5; k-- {
		switch {
		case in.word(k, "not", "no", "isnt") && in.word(k-1, "but", "pero", "y", "and", "its", "its"):
			return true
		case !in.word(k, "quite", "the", "as", "dark", "to", "tanto", "como", "el", "llega", "al", "really"):
			return false
		}
	}
	return false
}

// nearTo knows hedges that do not change the range before: "nearer three".
func (in *input) nearTo(i int) bool {
	return in.word(i-1, "nearer", "leaning") || in.word(i-1, "to", "toward", "towards") && in.word(i-2, "closer", "nearer", "leaning", "close", "more")
}

// withoutAsides drops the numbers in brackets where those outside are as many as asked.
func (in *input) withoutAsides(all []amount) []amount {
	if in.ctx.Asked != AskedReadings || len(all) <= len(in.ctx.AskedReadings) {
		return all
	}
	depth := 0
	inside := make([]bool, len(in.tokens)+1)
	for i := range in.tokens {
		if in.mark(i, "(") {
			depth++
		}
		inside[i] = depth > 0
		if in.mark(i, ")") {
			depth = max(0, depth-1)
		}
	}
	var kept []amount
	for _, a := range all {
		if !inside[a.from] {
			kept = append(kept, a)
		}
	}
	if len(kept) == len(in.ctx.AskedReadings) {
		return kept
	}
	return all
}
