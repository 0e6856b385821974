package understand

// spokenSizes reads sizes as dictation and speech leave them: "for fifty" is 450, "four
// oh oh" is 400, "4 5 0" said after it is the same again, "three quarters of 500" is 375.
func (in *input) spokenSizes(all []amount) []amount {
	if !in.asksVolume() {
		return all
	}
	out := make([]amount, 0, len(all))
	for k := 0; k < len(all); k++ {
		a := all[k]
		if n := in.ohs(a); n > 0 {
			a.value, a.to = exactly(a.value.Low*100), a.to+n
		} else if h, ok := in.homophoneAt(a.from - 1); ok && a.spelled && !a.bounded && h.to == a.to && a.value.Low >= 10 && h.value.Low >= 100 {
			a.value, a.from = h.value, h.from
		} else if part := in.partOf(a.from); part > 0 && !a.bounded {
			a.value = a.value.scale(part, 0)
			if n := len(out); n > 0 && a.from-out[n-1].to <= 3 {
				out = out[:n-1]
			}
		}
		if k+2 < len(all) && in.spelledOut(all[k:k+3]) {
			a.value, a.to = exactly(100*a.value.Low+10*all[k+1].value.Low+all[k+2].value.Low), all[k+2].to
			k += 2
		}
		out = append(out, a)
	}
	return out
}

// ohs returns how many tokens "oh oh" takes after one spoken figure, or 0.
func (in *input) ohs(a amount) int {
	if isDigit(a) && a.value.Low >= 1 && in.word(a.to, "oh", "o") && in.word(a.to+1, "oh", "o") {
		return 2
	}
	return 0
}

// spelledOut reports whether three single figures in a row spell a number: "4 5 0".
func (in *input) spelledOut(three []amount) bool {
	for k, a := range three {
		if len(a.figures) != 1 || a.bounded || k > 0 && a.from != three[k-1].to || k < 2 && a.unit != noUnit {
			return false
		}
	}
	return three[0].value.Low >= 1
}

// partOf reads "half of", "3/4 of", "two thirds of" before token i as a share, or returns 0.
func (in *input) partOf(i int) float64 {
	for in.word(i-1, "my", "our", "the", "a", "an", "mi", "los", "las") {
		i--
	}
	switch {
	case !in.word(i-1, "of", "de"):
		return 0
	case in.word(i-2, "half", "mitad"):
		return 0.5
	case in.word(i-2, "quarters", "cuartos") && in.number(i-3) && in.tokens[i-3].Value == 3,
		in.number(i-2) && in.mark(i-3, "/") && in.number(i-4) && in.tokens[i-2].Value == 4 && in.tokens[i-4].Value == 3,
		in.number(i-2) && in.tokens[i-2].Value == 0.75:
		return 0.75
	case in.word(i-2, "thirds", "tercios") && in.number(i-3) && in.tokens[i-3].Value == 2,
		in.number(i-2) && in.mark(i-3, "/") && in.number(i-4) && in.tokens[i-2].Value == 3 && in.tokens[i-4].Value == 2:
		return 2.0 / 3
	}
	return 0
}

// summedVolumes adds what was put in after the first: "a 275 gallon tote plus about 75
// more", and takes vessels as often as they are counted: "two 175 gal tanks".
func (in *input) summedVolumes(stated, all []amount) []amount {
	if len(stated) == 0 || stated[0].bounded {
		return stated
	}
	sum := stated[0]
	if n := in.countBefore(sum); n > 0 {
		sum.value = exactly(sum.value.Low * n)
		return []amount{sum}
	}
	added := false
	for _, a := range all {
		if a.from < sum.to || a.bounded || !in.isAddition(sum.to, a) {
			continue
		}
		if a.unit == noUnit {
			a.unit = sum.unit
		}
		sum.value = exactly(sum.value.Low + first(a.value)*a.unit.inGallons()/sum.unit.inGallons())
		added = true
	}
	if !added {
		return stated
	}
	return []amount{sum}
}

// isAddition reports whether the number after token from comes on top of another.
func (in *input) isAddition(from int, a amount) bool {
	on := in.word(a.to, "more", "mas", "extra", "additional", "adicionales") || in.word(a.from-1, "another", "otros", "otras", "extra") || in.word(a.from-2, "another", "otros")
	if !on || a.from-from > 8 {
		return false
	}
	for i := from; i < a.from; i++ {
		if in.word(i, "plus", "then", "and", "y", "luego", "mas", "topped", "otros", "another", "le") {
			return true
		}
	}
	return false
}

// countBefore returns how many vessels of the size at a there are, or 0.
func (in *input) countBefore(a amount) float64 {
	if !in.number(a.from-1) || in.tokens[a.from-1].Value < 2 || in.tokens[a.from-1].Value > 12 {
		return 0
	}
	for i := a.to; i < a.to+3; i++ {
		if in.word(i, "tanks", "totes", "drums", "barrels", "tambos", "tinacos", "tank", "tanques", "barriles", "bins", "cubes") {
			return in.tokens[a.from-1].Value
		}
	}
	return 0
}
