package flow

import (
	"maps"
	"math"
	"slices"
)

// deepestGuard bounds how far guards nest; deeper ones nobody can read.
const deepestGuard = 8

// guard checks one guard and those within it.
func (c *checker) guard(g *Guard, at *place, depth int) {
	if depth > deepestGuard {
		c.problem(at, "make states of it", "guards nested more than %d deep", deepestGuard)
		return
	}
	if fields := g.fields(); fields != 1 {
		c.problem(at, "use exactly one of all, any, not, known, is, above, at_least, below, at_most; put several under all",
			"a guard with %d conditions", fields)
	}
	for i := range g.All {
		c.guard(&g.All[i], at.key("all").item(i), depth+1)
	}
	for i := range g.Any {
		c.guard(&g.Any[i], at.key("any").item(i), depth+1)
	}
	if g.Not != nil {
		c.guard(g.Not, at.key("not"), depth+1)
	}
	if g.Known != "" {
		c.known(g.Known, at.key("known"))
	}
	for _, name := range slices.Sorted(maps.Keys(g.Is)) {
		c.fact(name, g.Is[name], at.key("is"))
	}
	for _, compare := range g.comparisons() {
		c.numbers(compare.against, at.key(compare.key))
	}
}

// fields counts the conditions that a guard gives.
func (g *Guard) fields() int {
	fields := 0
	for _, set := range []bool{
		len(g.All) > 0, len(g.Any) > 0, g.Not != nil, g.Known != "", len(g.Is) > 0,
		len(g.Above) > 0, len(g.AtLeast) > 0, len(g.Below) > 0, len(g.AtMost) > 0,
	} {
		if set {
			fields++
		}
	}
	return fields
}

// comparison is one of a guard's comparisons with numbers, by its key in the file.
type comparison struct {
	key     string
	against map[string]float64
}

func (g *Guard) comparisons() []comparison {
	return []comparison{{"above", g.Above}, {"at_least", g.AtLeast}, {"below", g.Below}, {"at_most", g.AtMost}}
}

// numbers lists what guards can compare.
func numbers() []string {
	return append([]string{numberVolume, numberRounds, numberSanitizer, numberLost}, Quantities()...)
}

// isNumber tells whether guards can compare the name.
func isNumber(name string) bool {
	return slices.Contains(numbers(), name)
}

func (c *checker) known(name string, at *place) {
	if _, fact := c.flow.factValues(name); !fact && !isNumber(name) {
		c.problem(at, "name a fact declared under facts, or a number: "+oneOf(numbers()), "unknown fact or number %q", name)
	}
}

func (c *checker) numbers(against map[string]float64, at *place) {
	for _, name := range slices.Sorted(maps.Keys(against)) {
		if !isNumber(name) {
			c.problem(at.name(name), "write "+oneOf(numbers()), "unknown number %q", name)
		}
		if value := against[name]; math.IsNaN(value) || math.IsInf(value, 0) {
			c.problem(at.key(name), "write a plain number", "%q compared with %v", name, value)
		}
	}
}
