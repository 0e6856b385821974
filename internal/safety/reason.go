package safety

import (
	"math"
	"strconv"
)

// In tells the finding in the owner's language: Spanish for "es", else US English. It
// is one plain clause that begins small, in the GSM 7-bit alphabet: "free chlorine 2
// ppm is under 3 ppm".
func (f Finding) In(lang string) string {
	if lang == "es" {
		return f.spanish
	}
	return f.Reason
}

// tongue is the few words a clause about a number is made of.
type tongue struct {
	under, over, mayUnder, mayOver, mayOutside string
	to, upTo, orMore                           string
	anyValue                                   string
	fine, noHelp                               string
}

func english() tongue {
	return tongue{
		under: " is under ", over: " is over ", mayUnder: " may be under ", mayOver: " may be over ",
		mayOutside: " may be outside ",
		to:         " to ", upTo: "up to ", orMore: " or more", anyValue: "of any value",
		fine: " is in the range to soak in", noHelp: ", and treatment did not help",
	}
}

func spanish() tongue {
	return tongue{
		under: " queda abajo de ", over: " pasa de ", mayUnder: " puede quedar abajo de ", mayOver: " puede pasar de ",
		mayOutside: " puede salir de ",
		to:         " a ", upTo: "hasta ", orMore: " o mayor", anyValue: "de cualquier valor",
		fine: " queda en el rango para entrar", noHelp: ", y el tratamiento no ha servido",
	}
}

// explain sets the reason in both languages: name, value, how it is out of limit, and
// what follows from it.
func (f *Finding) explain(row Limit, value, limit Range, then, thenSpanish string) {
	f.Reason = row.Name + " " + english().clause(row.Unit, value, limit, f.Side) + then
	f.spanish = row.spanishName + " " + spanish().clause(row.Unit, value, limit, f.Side) + thenSpanish
}

// clause says how a value is out of a limit: "2 ppm is under 3 ppm". It is " is " for
// a value wholly outside and " may be " for one that is so in part.
func (t tongue) clause(unit string, value, limit Range, side Side) string {
	said := t.say(unit, value)
	switch {
	case side == "":
		return said + t.fine
	case side == TooLow && value.High < limit.Low:
		return said + t.under + t.say(unit, Range{limit.Low, limit.Low})
	case side == TooLow:
		return said + t.mayUnder + t.say(unit, Range{limit.Low, limit.Low})
	case side == TooHigh && value.Low > limit.High:
		return said + t.over + t.say(unit, Range{limit.High, limit.High})
	case side == TooHigh:
		return said + t.mayOver + t.say(unit, Range{limit.High, limit.High})
	}
	return said + t.mayOutside + t.say(unit, limit)
}

// say writes a value with its unit: "7.2", "3 to 5 ppm", "10 ppm or more".
func (t tongue) say(unit string, value Range) string {
	if unit != "" {
		unit = " " + unit
	}
	low, high := figure(value.Low), figure(value.High)
	openLow, openHigh := math.IsInf(value.Low, -1), math.IsInf(value.High, 1)
	switch {
	case value.Low == value.High:
		return low + unit
	case openLow && openHigh:
		return t.anyValue
	case openLow:
		return t.upTo + high + unit
	case openHigh:
		return low + unit + t.orMore
	}
	return low + t.to + high + unit
}

// figure rounds to a thousandth, which is finer than any test.
func figure(x float64) string {
	return strconv.FormatFloat(math.Round(x*1000)/1000, 'f', -1, 64)
}

// unmeasured is the finding on a value that nobody has.
func (row Limit) unmeasured() Finding {
	return Finding{
		Quantity: row.Quantity, Band: Unmeasured, Source: row.SoakSource,
		Reason:  row.Name + " has not been measured",
		spanish: "falta medir: " + row.spanishName,
	}
}
