package conversation

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"tubhand/internal/tub"
	"tubhand/internal/understand"
)

// Readings are values by quantity.
type Readings = understand.Readings

// spoonsText says level teaspoons in quarters: "2 3/4 level teaspoons".
func spoonsText(spoons float64) string {
	quarters := int(math.Round(spoons * 4))
	whole, part := quarters/4, [4]string{"", "1/4", "1/2", "3/4"}[quarters%4]
	unit := " level teaspoons"
	if quarters <= 4 {
		unit = " level teaspoon"
	}
	switch {
	case whole == 0:
		return part + unit
	case part == "":
		return strconv.Itoa(whole) + unit
	}
	return strconv.Itoa(whole) + " " + part + unit
}

// volumeText says a volume in the owner's units; "" when it is not known.
func volumeText(usGal float64, metric bool) string {
	if usGal <= 0 {
		return ""
	}
	if metric {
		return strconv.Itoa(int(math.Round(tub.Litres(usGal)))) + " liters"
	}
	return strconv.Itoa(int(math.Round(usGal))) + " gallons"
}

// order is the order in which readings are said.
var order = [...]understand.Quantity{
	understand.FreeChlorine, understand.TotalChlorine, understand.CombinedChlorine, understand.Bromine,
	understand.PH, understand.TotalAlkalinity, understand.CalciumHardness, understand.CyanuricAcid,
	understand.TDS, understand.Phosphate, understand.Salt, understand.WaterTemp,
}

func ordered(r Readings) []understand.Quantity {
	var out []understand.Quantity
	for _, q := range order {
		if _, ok := r[q]; ok {
			out = append(out, q)
		}
	}
	return out
}

func orderedMeasured(r map[understand.Quantity]Measured) []understand.Quantity {
	var out []understand.Quantity
	for _, q := range order {
		if _, ok := r[q]; ok {
			out = append(out, q)
		}
	}
	return out
}

// plainName is what the trade calls a quantity.
func plainName(q understand.Quantity) string {
	switch q {
	case understand.FreeChlorine:
		return "free chlorine"
	case understand.TotalChlorine:
		return "total chlorine"
	case understand.CombinedChlorine:
		return "combined chlorine"
	case understand.Bromine:
		return "bromine"
	case understand.PH:
		return "pH"
	case understand.TotalAlkalinity:
		return "alkalinity"
	case understand.CalciumHardness:
		return "calcium hardness"
	case understand.CyanuricAcid:
		return "cyanuric acid"
	case understand.TDS:
		return "TDS"
	case understand.Phosphate:
		return "phosphate"
	case understand.Salt:
		return "salt"
	case understand.WaterTemp:
		return "water temperature"
	}
	return string(q)
}

// readingText says one reading: "pH 7.4", "free chlorine 3 to 5", "bromine over 10".
func readingText(q understand.Quantity, v understand.Value) string {
	name := plainName(q) + " "
	unit := ""
	if q == understand.WaterTemp {
		unit = " F"
	}
	switch {
	case v.Unknown:
		return name + "not readable"
	case v.OpenHigh:
		return name + "over " + number(v.Low) + unit
	case v.OpenLow:
		return name + "under " + number(v.High) + unit
	case v.Low != v.High:
		return name + number(v.Low) + " to " + number(v.High) + unit
	}
	return name + number(v.Low) + unit
}

func readingsText(r Readings) string {
	var parts []string
	for _, q := range ordered(r) {
		parts = append(parts, readingText(q, r[q]))
	}
	return strings.Join(parts, ", ")
}

func proposalText(p map[string]float64) string {
	var parts []string
	for _, name := range sortedKeys(p) {
		parts = append(parts, readingText(understand.Quantity(name), understand.Value{Low: p[name], High: p[name]}))
	}
	return strings.Join(parts, ", ")
}

// number says a value without needless zeros, to two decimals.
func number(x float64) string {
	return strconv.FormatFloat(math.Round(x*100)/100, 'f', -1, 64)
}

// bounds gives a value as an interval; an open end is infinite.
func bounds(v understand.Value) (low, high float64) {
	low, high = v.Low, v.High
	if v.OpenLow {
		low = 0
	}
	if v.OpenHigh {
		high = math.Inf(1)
	}
	return low, high
}

// list joins names as people do: "a, b and c".
func list(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:len(names)-1], ", ") + " and " + names[len(names)-1]
}

func upperFirst(s string) string {
	r, size := utf8.DecodeRuneInString(s)
	if size == 0 || strings.HasPrefix(s, "pH") {
		return s
	}
	return string(unicode.ToUpper(r)) + s[size:]
}

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// unreadable tells whether all that was reported could not be read.
func unreadable(r Readings) bool {
	for _, v := range r {
		if !v.Unknown {
			return false
		}
	}
	return len(r) > 0
}
