package shop

import (
	"unicode/utf8"

	"tubhand/internal/conversation"
	"tubhand/internal/water"
)

// sold names what a product may hold: what package water reckons with, but for the
// pure reagents that no shop hands to an owner.
func sold() []string {
	var names []string
	for _, c := range water.Chemicals() {
		if c != water.HydrochloricAcid && c != water.SodiumHydroxide {
			names = append(names, string(c))
		}
	}
	return names
}

// The figures that a label can carry, with room to spare. A spoon measured in ounces
// or a rate per litre falls outside and is asked about instead of dosed.
const (
	minSpoons, maxSpoons = 0.25, 24   // level teaspoons in one rate
	minGallons           = 10         // US gallons in one rate,
	maxGallons           = 1000       // at the least and at the most
	maxJar               = 5000       // level teaspoons in a jar
	minWeight, maxWeight = 1.5, 12.5  // grams in a level teaspoon of 4.93 mL: 0.3 to 2.5 g/mL
	strongest            = 24.0 / 100 // level teaspoons to the US gallon
)

// flush checks the flush product: without its rate nothing can be walked through.
func (c *check) flush(p product) conversation.Product {
	out := c.product("$.flush", "", p)
	if p.Teaspoons == nil || p.PerUSGal == nil {
		c.bad("$.flush", "needs level_teaspoons and per_us_gal from the label")
		return out
	}
	if *p.PerUSGal > 0 && *p.Teaspoons / *p.PerUSGal > strongest {
		c.bad("$.flush.level_teaspoons", "%g level teaspoons to %g US gal is more than any label asks; see to the units", *p.Teaspoons, *p.PerUSGal)
	}
	return out
}

func (c *check) products(byChemical map[string]product) map[string]conversation.Product {
	out := map[string]conversation.Product{}
	for _, chemical := range keys(byChemical) {
		path := "$.products." + chemical
		c.oneOf(path, chemical, sold()...)
		out[chemical] = c.product(path, chemical, byChemical[chemical])
	}
	return out
}

func (c *check) product(path, chemical string, p product) conversation.Product {
	if (p.Teaspoons == nil) != (p.PerUSGal == nil) {
		c.bad(path, "level_teaspoons and per_us_gal go together: give both or neither")
	}
	return conversation.Product{
		Name:             c.said(path+".name", p.Name, 40),
		Chemical:         chemical,
		Teaspoons:        c.within(path+".level_teaspoons", p.Teaspoons, minSpoons, maxSpoons),
		PerUSGal:         c.within(path+".per_us_gal", p.PerUSGal, minGallons, maxGallons),
		JarTeaspoons:     c.within(path+".jar_teaspoons", p.JarTeaspoons, 1, maxJar),
		GramsPerTeaspoon: c.within(path+".grams_per_teaspoon", p.GramsPerTeaspoon, minWeight, maxWeight),
	}
}

// within checks a figure; one that is left out is 0, which means "not known".
func (c *check) within(path string, x *float64, low, high float64) float64 {
	if x == nil {
		return 0
	}
	if !(*x >= low && *x <= high) { // written so that it also refuses NaN
		c.bad(path, "%g is out of range; take it from the label, %g to %g", *x, low, high)
	}
	return *x
}

// drain checks the city's words on drained water, which owners are sent as they are.
func (c *check) drain(s string) string {
	if n := utf8.RuneCountInString(s); s != "" && n > 200 {
		c.bad("$.drain", "has %d characters; owners are sent it, so use at most 200", n)
		return s
	}
	if s != "" {
		c.said("$.drain", s, 200)
	}
	return s
}
