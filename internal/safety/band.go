package safety

import "math"

// Band is what a value, or a whole water, allows.
type Band int

// The bands. Unmeasured is the zero value, so that nothing is ever cleared by default.
const (
	Unmeasured Band = iota // not known, and so no soaking
	Soak                   // soaking is allowed
	Fix                    // no soaking; dose or wait, then test again
	Person                 // no soaking, no more dosing; a person takes over
)

// String gives the band's name: unmeasured, soak, fix or person.
func (b Band) String() string {
	switch b {
	case Soak:
		return "soak"
	case Fix:
		return "fix"
	case Person:
		return "person"
	}
	return "unmeasured"
}

// weight orders bands by what they forbid: a known fault outweighs an unknown value,
// and an unknown value outweighs a good one.
func (b Band) weight() int {
	switch b {
	case Soak:
		return 0
	case Fix:
		return 2
	case Person:
		return 3
	}
	return 1
}

// worse is the band of the two that forbids more.
func worse(a, b Band) Band {
	if b.weight() > a.weight() {
		return b
	}
	return a
}

// Range is a span of a quantity with both ends in it. An open end is an infinity.
type Range struct {
	Low, High float64
}

// known is false for a range that holds no value: an end that is not a number, or
// the ends crossed.
func (r Range) known() bool { return r.Low <= r.High }

// sideOf says on which side some of value lies outside r, and "" when all is inside.
func (r Range) sideOf(value Range) Side {
	low, high := value.Low < r.Low, value.High > r.High
	switch {
	case low && high:
		return BothSides
	case low:
		return TooLow
	case high:
		return TooHigh
	}
	return ""
}

// Side says on which side of a limit a value is.
type Side string

// The sides. A wide interval may be out on both.
const (
	TooLow    Side = "low"
	TooHigh   Side = "high"
	BothSides Side = "both"
)

// touches is true when a value out on side s is out on side t.
func (s Side) touches(t Side) bool { return s == t || s == BothSides && t != "" }

// anyLow and anyHigh are open ends.
var (
	anyLow  = math.Inf(-1)
	anyHigh = math.Inf(1)
)
