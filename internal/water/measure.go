package water

import (
	"math"
	"strconv"
)

// Unit is what an owner measures a dose with.
type Unit string

// The units. LevelTeaspoon needs the product's own grams per spoon; Teaspoon and
// FluidOunce are for liquids, OunceWeight and Gram want a kitchen scale.
const (
	LevelTeaspoon Unit = "level teaspoon"
	Teaspoon      Unit = "teaspoon"
	FluidOunce    Unit = "fl oz"
	OunceWeight   Unit = "oz by weight"
	Gram          Unit = "g by weight"
)

// US customary units, exact (NIST Handbook 44, SP 811).
const (
	millilitresPerTeaspoon = 4.92892159375
	millilitresPerFluidOz  = 29.5735295625
	gramsPerOunce          = 28.349523125
	litresPerUSGal         = 3.785411784
)

// Measure is a dose as it is measured out, always rounded down.
type Measure struct {
	Quantity float64
	Unit     Unit
}

// Product is a chemical that the owner has, with what its label or the shop says one
// level teaspoon of it weighs. Without that, 0, powders are given in ounces: no spoon
// weight is invented.
type Product struct {
	Chemical         Chemical
	GramsPerTeaspoon float64
}

// density is g/mL of a liquid product, 0 for a powder. Muriatic acid of 20 degrees
// Baume has 145/(145-20).
func density(c Chemical) float64 {
	switch c {
	case SodiumHypochlorite6:
		return BleachDensity(60)
	case SodiumHypochlorite825:
		return BleachDensity(82.5)
	case SodiumHypochlorite10:
		return BleachDensity(100)
	case SodiumHypochlorite125:
		return BleachDensity(125)
	case MuriaticAcid3145:
		return 1.160
	}
	return 0
}

// measure turns grams into what can be measured, rounded down, and gives the grams
// that this measure holds. They are 0 where the dose is too small to measure.
func (p Product) measure(grams float64) (Measure, float64) {
	if d := density(p.Chemical); d > 0 {
		return measureLiquid(grams/d, d)
	}
	if p.GramsPerTeaspoon > 0 {
		spoons := grams / p.GramsPerTeaspoon
		step := 0.25
		if spoons < 0.5 {
			step = 0.125
		}
		return rounded(spoons, step, LevelTeaspoon, p.GramsPerTeaspoon)
	}
	switch ounces := grams / gramsPerOunce; {
	case ounces >= 1:
		return rounded(ounces, 0.1, OunceWeight, gramsPerOunce)
	case ounces >= 0.1:
		return rounded(ounces, 0.05, OunceWeight, gramsPerOunce)
	}
	return rounded(grams, 0.5, Gram, 1)
}

// measureLiquid picks fluid ounces from one ounce up, and teaspoons below.
func measureLiquid(millilitres, density float64) (Measure, float64) {
	step := 0.25
	if ounces := millilitres / millilitresPerFluidOz; ounces >= 1 {
		if ounces < 4 {
			step = 0.125
		}
		return rounded(ounces, step, FluidOunce, millilitresPerFluidOz*density)
	}
	return rounded(millilitres/millilitresPerTeaspoon, step, Teaspoon, millilitresPerTeaspoon*density)
}

// rounded rounds down to a step and gives the grams of the result.
func rounded(amount, step float64, unit Unit, gramsEach float64) (Measure, float64) {
	n := math.Floor(amount/step + 1e-9)
	return Measure{n * step, unit}, n * step * gramsEach
}

// String is the measure in plain words: "1 1/4 level teaspoons", "0.35 oz by weight".
func (m Measure) String() string {
	text := fraction(m.Quantity)
	if m.Unit == OunceWeight || m.Unit == Gram {
		text = strconv.FormatFloat(math.Round(m.Quantity*100)/100, 'f', -1, 64)
	}
	text += " " + string(m.Unit)
	if (m.Unit == LevelTeaspoon || m.Unit == Teaspoon) && m.Quantity > 1 {
		text += "s"
	}
	return text
}

// fraction writes a number of eighths as people say it: 2, 1/4, 1 3/8.
func fraction(v float64) string {
	eighths := int(math.Round(v * 8))
	whole, part, of := eighths/8, eighths%8, 8
	for part > 0 && part%2 == 0 {
		part, of = part/2, of/2
	}
	switch {
	case part == 0:
		return strconv.Itoa(whole)
	case whole == 0:
		return strconv.Itoa(part) + "/" + strconv.Itoa(of)
	}
	return strconv.Itoa(whole) + " " + strconv.Itoa(part) + "/" + strconv.Itoa(of)
}
