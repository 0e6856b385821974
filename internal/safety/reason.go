package safety

import (
	"math"
	"strconv"
)

// outside says how a value is out of a range: "free chlorine 2 ppm is under 3 ppm".
func (row Limit) outside(value, limit Range, side Side) string {
	is := row.Name + " " + row.say(value)
	switch side {
	case TooLow:
		return is + row.may(value.High < limit.Low) + "under " + row.say(Range{limit.Low, limit.Low})
	case TooHigh:
		return is + row.may(value.Low > limit.High) + "over " + row.say(Range{limit.High, limit.High})
	}
	return is + " may be outside " + row.say(limit)
}

// may is " is " for a value wholly outside and " may be " for one that is so in part.
func (row Limit) may(wholly bool) string {
	if wholly {
		return " is "
	}
	return " may be "
}

// within says that a value is as it should be.
func (row Limit) within(value Range) string {
	return row.Name + " " + row.say(value) + " is in the range to soak in"
}

// unmeasured is the finding on a value that nobody has.
func (row Limit) unmeasured() Finding {
	return Finding{
		Quantity: row.Quantity, Band: Unmeasured, Source: row.SoakSource,
		Reason: row.Name + " has not been measured",
	}
}

// say writes a value with its unit: "7.2", "3 to 5 ppm", "over 10 ppm".
func (row Limit) say(value Range) string {
	unit := ""
	if row.Unit != "" {
		unit = " " + row.Unit
	}
	low, high := figure(value.Low), figure(value.High)
	switch {
	case value.Low == value.High:
		return low + unit
	case math.IsInf(value.Low, -1) && math.IsInf(value.High, 1):
		return "of any value"
	case math.IsInf(value.Low, -1):
		return "up to " + high + unit
	case math.IsInf(value.High, 1):
		return "from " + low + unit + " up"
	}
	return low + " to " + high + unit
}

// figure rounds to a thousandth, which is finer than any test.
func figure(x float64) string {
	return strconv.FormatFloat(math.Round(x*1000)/1000, 'f', -1, 64)
}
