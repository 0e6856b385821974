package conversation

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"tubhand/internal/understand"
)

// Readings are values by quantity.
type Readings = understand.Readings

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
