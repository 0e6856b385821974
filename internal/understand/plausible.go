package understand

import "math"

// bounds of a quantity. Values outside [absurdLow, absurdHigh] are never taken: a
// careful person asks again. Values outside [low, high] are taken but count against a
// guess at what a number means. Common practice about what strips and kits can show,
// no source; they are about misreading, not about safety.
type bounds struct {
	absurdLow, absurdHigh float64
	low, high             float64
	fraction              bool // fractions are usual
}

func boundsOf(q Quantity) bounds {
	switch q {
	case FreeChlorine, TotalChlorine:
		return bounds{0, 40, 0, 20, true}
	case CombinedChlorine:
		return bounds{0, 15, 0, 5, true}
	case Bromine:
		return bounds{0, 45, 0, 25, true}
	case PH:
		return bounds{4.5, 10.5, 6, 9, true}
	case TotalAlkalinity:
		return bounds{0, 900, 15, 360, false}
	case CalciumHardness:
		return bounds{0, 2000, 20, 1000, false}
	case CyanuricAcid:
		return bounds{0, 500, 0, 300, false}
	case TDS:
		return bounds{10, 15000, 100, 5000, false}
	case Phosphate:
		return bounds{0, 10000, 0, 3000, false}
	case Salt:
		return bounds{0, 9000, 200, 6000, false}
	case WaterTemp:
		return bounds{32, 140, 45, 115, true}
	}
	return bounds{0, math.Inf(1), 0, math.Inf(1), true}
}

// isAbsurd reports whether the value cannot be a reading of the quantity, or only by a
// slip: alkalinity 7.4 is a pH in the wrong place.
func isAbsurd(q Quantity, v Value) bool {
	b := boundsOf(q)
	for _, x := range v.ends() {
		if x < b.absurdLow || x > b.absurdHigh {
			return true
		}
		if (q == TotalAlkalinity || q == CalciumHardness) && x > 0 && x < 10 {
			return true
		}
	}
	return false
}

// Possible reports whether a value can be a reading of the quantity at all: what is not
// known, or what no strip or kit shows, can't.
func Possible(q Quantity, v Value) bool { return !v.Unknown && len(v.ends()) > 0 && !isAbsurd(q, v) }

// isTypical reports whether the value is what such readings usually look like.
func isTypical(q Quantity, v Value) bool {
	b := boundsOf(q)
	for _, x := range v.ends() {
		if (x < b.low || x > b.high) && x != 0 {
			return false
		}
		if !b.fraction && x != math.Trunc(x) {
			return false
		}
		if q == PH && x == 0 {
			return false
		}
	}
	return true
}

// ends returns the known ends of the value.
func (v Value) ends() []float64 {
	switch {
	case v.Unknown:
		return nil
	case v.OpenHigh:
		return []float64{v.Low}
	case v.OpenLow:
		return []float64{v.High}
	case v.Low == v.High:
		return []float64{v.Low}
	}
	return []float64{v.Low, v.High}
}

// likely returns what a figure without its point may have meant: "74" for pH is 7.4.
func likely(q Quantity, x float64) (float64, bool) {
	for x >= 10 && q == PH {
		x /= 10
		if x >= 6 && x <= 9 {
			return math.Round(x*100) / 100, true
		}
	}
	return 0, false
}
