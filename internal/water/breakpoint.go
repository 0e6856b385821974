package water

import "math"

// CombinedFrom is the combined chlorine of a free and a total reading, mg/L. ok is
// false where free is above total by more than a test's step of 0.2: one of them is
// wrong, ask again.
func CombinedFrom(free, total float64) (combined float64, ok bool) {
	if math.IsNaN(free) || math.IsNaN(total) || free > total+0.2 {
		return 0, false
	}
	return math.Max(0, total-free), true
}

// BreakpointTarget is the free chlorine, mg/L, that burns combined chlorine off: ten
// times as much (KFL&A Public Health, Breakpoint Chlorination, 2011; a rule of thumb).
func BreakpointTarget(combined float64) float64 { return 10 * combined }

// CyanuricAcidFromDichlor is the cyanuric acid, mg/L, that comes along when dichlor
// raises the free chlorine by so many mg/L (129.07/141.8).
func CyanuricAcidFromDichlor(chlorine float64) float64 { return chlorine * massCyH3 / (2 * massCl2) }
