package understand

import "math"

// align pairs quantity names with numbers. People write "ph 7.4", "7.4 ph", "7.4 for
// the ph" and mix them; the cheapest set of pairs over the whole text wins.

// item is a name (n >= 0) or a number (a >= 0) in the order of the text.
type item struct {
	n, a     int
	from, to int
}

const (
	costLonelyNumber = 5.0
	costLonelyName   = 2.5
	costImpossible   = 60.0
)

// align returns for each number the index of its name, or -1.
func (in *input) align(names []name, numbers []amount, clause []int) []int {
	items := mergeItems(names, numbers)
	best := make([]float64, len(items)+1)
	from := make([]int, len(items)+1) // where the pair that ends here began, or -1
	for end := 1; end <= len(items); end++ {
		last := items[end-1]
		best[end] = best[end-1] + lonely(last)
		from[end] = -1
		skipped := 0.0
		for start := end - 2; start >= 0 && start >= end-5; start-- {
			first := items[start]
			if (first.n >= 0) != (last.n >= 0) {
				if c := best[start] + skipped + in.pairCost(names, numbers, first, last, clause); c < best[end] {
					best[end], from[end] = c, start
				}
			}
			skipped += lonely(first)
		}
	}
	pairs := make([]int, len(numbers))
	for i := range pairs {
		pairs[i] = -1
	}
	for end := len(items); end > 0; {
		if from[end] < 0 {
			end--
			continue
		}
		first, last := items[from[end]], items[end-1]
		if first.n >= 0 {
			pairs[last.a] = first.n
		} else {
			pairs[first.a] = last.n
		}
		end = from[end]
	}
	return pairs
}

func lonely(it item) float64 {
	if it.a >= 0 {
		return costLonelyNumber
	}
	return costLonelyName
}

func mergeItems(names []name, numbers []amount) []item {
	items := make([]item, 0, len(names)+len(numbers))
	i, j := 0, 0
	for i < len(names) || j < len(numbers) {
		if j >= len(numbers) || i < len(names) && names[i].from < numbers[j].from {
			items = append(items, item{n: i, a: -1, from: names[i].from, to: names[i].to})
			i++
			continue
		}
		items = append(items, item{n: -1, a: j, from: numbers[j].from, to: numbers[j].to})
		j++
	}
	return items
}

// pairCost is what it costs to believe that two items belong together.
func (in *input) pairCost(names []name, numbers []amount, first, last item, clause []int) float64 {
	var nm name
	var am amount
	cost := 0.0
	if first.n >= 0 {
		nm, am = names[first.n], numbers[last.a]
	} else {
		nm, am = names[last.n], numbers[first.a]
		cost += in.backwardCost(first.to, last.from)
	}
	cost += in.distanceCost(first.to, last.from, clause)
	if nm.loose {
		cost += 0.3
	}
	if first.a >= 0 && cost > 0 && isAbsurd(nm.quantity, convert(nm.quantity, am)) {
		cost += 6 // "7.4 and alk is greenish"
	}
	return cost + fitCost(nm.quantity, am)
}

// backwardCost is less than nothing for "7.4 for the ph", a little for "7.4 ph".
func (in *input) backwardCost(from, to int) float64 {
	if from == to {
		return 0.6
	}
	connected := false
	if in.word(from, "for", "of", "de", "para", "pa", "del", "fo") && in.onlyArticles(from+1, to) {
		return -3.5
	}
	for i := from; i < to; i++ {
		switch {
		case in.word(i, "for", "of", "on", "de", "en", "para", "pa", "fo", "4", "del", "is", "was"):
			connected = true
		case in.word(i, "the", "my", "el", "la", "mi", "our", "as", "free", "total"):
		default:
			return 2
		}
	}
	if connected {
		return -1
	}
	return 1
}

func (in *input) onlyArticles(from, to int) bool {
	for i := from; i < to; i++ {
		if !in.word(i, "the", "my", "el", "la", "mi", "our", "nuestro", "su") {
			return false
		}
	}
	return true
}

func (in *input) distanceCost(from, to int, clause []int) float64 {
	cost := 0.0
	for i := from; i < to && i < len(in.tokens); i++ {
		switch {
		case in.mark(i, ":=-"):
		case in.mark(i, ","):
			cost += 1.5
		case in.mark(i, ".!;"):
			cost += 2.5
		case in.mark(i, "?"):
			cost += 3
		case in.word(i, "and", "y", "e", "then"):
			cost += 0.8
		case in.word(i, "is", "es", "at", "en", "reads", "says", "marca", "dice", "salio", "esta", "was", "came"):
			cost += 0.02
		case in.tokens[i].Raw == "\n":
			cost += 1.4
		default:
			cost += 0.15
		}
	}
	return cost
}

// measures reports whether the unit can be one of the quantity.
func measures(u unit, q Quantity) bool {
	switch u {
	case perHundred:
		return q == Salt || q == TDS
	case gramsPerLitre:
		return q != PH && q != WaterTemp && q != Phosphate
	case frenchDegrees, germanDegrees, grainsPerGallon:
		return q == CalciumHardness || q == TotalAlkalinity
	case perBillion:
		return q == Phosphate || q == FreeChlorine || q == TotalChlorine || q == CombinedChlorine
	}
	return true
}

// fitCost is what it costs to believe that the number measures the quantity.
func fitCost(q Quantity, a amount) float64 {
	if a.grouped > 0 && isTypical(q, Value{Low: a.grouped, High: a.grouped}) && (q == TDS || q == Salt) {
		return 0
	}
	temperature := a.unit == fahrenheit || a.unit == celsius || a.unit == degrees
	switch {
	case temperature != (q == WaterTemp) && (temperature || a.unit != noUnit):
		return costImpossible
	case a.unit >= gallons, !measures(a.unit, q):
		return costImpossible
	case a.unit == perMillion && q == PH && (!isTypical(PH, a.value) || first(a.value) == math.Trunc(first(a.value))):
		return costImpossible
	case temperature:
		return 0
	}
	switch {
	case q == WaterTemp && a.value.ends() != nil && a.value.ends()[0] < 46:
		return 0.5
	case isAbsurd(q, convert(q, a)):
		return 4
	case !isTypical(q, convert(q, a)):
		return 1.5
	}
	return 0
}
