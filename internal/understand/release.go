package understand

// alignAll pairs names with numbers while the numbers that do not count ("last week it
// was 7.8", "should be 7.4") hold on to their own names. It returns for each number that
// counts its name or -1, and which names were spent on numbers that do not.
func (in *input) alignAll(names []name, numbers, dead []amount, clause []int) ([]int, map[int]bool) {
	if len(dead) == 0 || len(names) == 0 {
		return in.align(names, numbers, clause), nil
	}
	all, from := mergeAmounts(numbers, dead)
	pairs := make([]int, len(numbers))
	for k := range pairs {
		pairs[k] = -1
	}
	spent := map[int]bool{}
	for k, n := range in.align(names, all, clause) {
		switch {
		case from[k] >= 0:
			pairs[from[k]] = n
		case n >= 0:
			spent[n] = true
		}
	}
	return pairs, spent
}

// mergeAmounts puts both lists in the order of the text; from tells for each its place
// in the first list, or -1.
func mergeAmounts(numbers, dead []amount) (all []amount, from []int) {
	i, j := 0, 0
	for i < len(numbers) || j < len(dead) {
		if j >= len(dead) || i < len(numbers) && numbers[i].from <= dead[j].from {
			all, from = append(all, numbers[i]), append(from, i)
			i++
			continue
		}
		all, from = append(all, dead[j]), append(from, -1)
		j++
	}
	return all, from
}

// liveNames drops the names spent on numbers that do not count.
func liveNames(names []name, spent map[int]bool) []name {
	if len(spent) == 0 {
		return names
	}
	return without(names, spent)
}

// livePairs counts the names of pairs as liveNames keeps them.
func livePairs(pairs []int, spent map[int]bool) []int {
	if len(spent) == 0 {
		return pairs
	}
	out := make([]int, len(pairs))
	for k, n := range pairs {
		out[k] = n
		for s := range spent {
			if n >= 0 && s < n {
				out[k]--
			}
		}
	}
	return out
}

// takeReleased gives numbers without a name to the names that were spent on numbers
// that do not count: "ph was 7.8 last week, now 7.4". As many in the same order are
// taken so, else each that fits one name only.
func (in *input) takeReleased(f *found, names []name, numbers []amount, pairs []int, spent map[int]bool) {
	var free []Quantity
	for k, n := range names {
		if _, ok := f.readings[n.quantity]; spent[k] && !ok {
			free = appendOnce(free, n.quantity)
		}
	}
	var loose []amount
	for k, n := range pairs {
		if n < 0 && (numbers[k].unit == noUnit || numbers[k].unit == perMillion) {
			loose = append(loose, numbers[k])
		}
	}
	if len(free) == 0 || len(loose) == 0 || in.ctx.Asked == AskedReadings && len(f.readings) > 0 {
		return
	}
	if len(free) == len(loose) && allFit(free, loose) {
		for k, q := range free {
			in.store(f, q, loose[k])
		}
		return
	}
	for _, a := range loose {
		if q, ok := onlyFit(free, a); ok {
			in.store(f, q, a)
		}
	}
}

func appendOnce(list []Quantity, q Quantity) []Quantity {
	for _, known := range list {
		if known == q {
			return list
		}
	}
	return append(list, q)
}

func allFit(quantities []Quantity, numbers []amount) bool {
	for k, q := range quantities {
		if fitCost(q, numbers[k]) >= 1 {
			return false
		}
	}
	return true
}

// onlyFit returns the one quantity that the number can measure.
func onlyFit(quantities []Quantity, a amount) (Quantity, bool) {
	fit, count := Quantity(""), 0
	for _, q := range quantities {
		if fitCost(q, a) < 1 {
			fit = q
			count++
		}
	}
	return fit, count == 1
}
