package water

import (
	"fmt"
	"math"
)

// Water is a tub's water: volume in L, temperature in Celsius, alkalinity and hardness
// in mg/L as CaCO3, chlorine in mg/L as Cl2, bromine in mg/L as Br2, borate in mg/L as
// boron, the rest in mg/L. A PH of 0 means that it was not measured: such a water can
// still take stoichiometric additions, but no pH is predicted for it.
type Water struct {
	VolumeL          float64
	TempC            float64
	PH               float64
	TotalAlkalinity  float64
	CalciumHardness  float64
	CyanuricAcid     float64
	BorateB          float64
	TDS              float64
	FreeChlorine     float64
	CombinedChlorine float64
	Bromine          float64
}

// What stands in where nothing is said: a tub's usual temperature and a town's usual
// dissolved solids.
const (
	DefaultTempC = 38
	DefaultTDS   = 500
)

// FieldError is an input that cannot be used: which field, and why.
type FieldError struct {
	Field  Quantity
	Value  float64
	Reason string
}

// Error says the field, the value and what is wrong with it.
func (e *FieldError) Error() string {
	return fmt.Sprintf("%s: %g %s", e.Field, e.Value, e.Reason)
}

// Quantity names a field of Water as the machine interface names it.
type Quantity string

// The quantities of a Water.
const (
	Volume           Quantity = "volume_l"
	Temperature      Quantity = "temp_c"
	PH               Quantity = "ph"
	TotalAlkalinity  Quantity = "total_alkalinity"
	CalciumHardness  Quantity = "calcium_hardness"
	CyanuricAcid     Quantity = "cyanuric_acid"
	BorateB          Quantity = "borate_b"
	TDS              Quantity = "tds"
	FreeChlorine     Quantity = "free_chlorine"
	CombinedChlorine Quantity = "combined_chlorine"
	Bromine          Quantity = "bromine"
)

// Quantities lists every quantity, in the order of Water's fields.
func Quantities() []Quantity {
	return []Quantity{
		Volume, Temperature, PH, TotalAlkalinity, CalciumHardness, CyanuricAcid,
		BorateB, TDS, FreeChlorine, CombinedChlorine, Bromine,
	}
}

// At points at the field of w that q names, or is nil when q names none.
func (w *Water) At(q Quantity) *float64 {
	switch q {
	case Volume:
		return &w.VolumeL
	case Temperature:
		return &w.TempC
	case PH:
		return &w.PH
	case TotalAlkalinity:
		return &w.TotalAlkalinity
	case CalciumHardness:
		return &w.CalciumHardness
	case CyanuricAcid:
		return &w.CyanuricAcid
	case BorateB:
		return &w.BorateB
	case TDS:
		return &w.TDS
	case FreeChlorine:
		return &w.FreeChlorine
	case CombinedChlorine:
		return &w.CombinedChlorine
	case Bromine:
		return &w.Bromine
	}
	return nil
}

// domain is the range a quantity may have: wide enough for any tub and any laboratory
// bottle, narrow enough that the activities hold. Our decision.
func domain(q Quantity) (low, high float64) {
	switch q {
	case Volume:
		return 0.01, 5e6
	case Temperature:
		return 0, 60
	case PH:
		return 2, 12
	case TotalAlkalinity, CyanuricAcid:
		return 0, 2000
	case BorateB:
		return 0, 500
	case FreeChlorine, CombinedChlorine, Bromine:
		return 0, 1000
	}
	return 0, 10000 // hardness and dissolved solids
}

// checkField says whether a value lies in its domain. NaN and infinities do not.
func checkField(q Quantity, v float64) error {
	low, high := domain(q)
	switch {
	case math.IsNaN(v) || math.IsInf(v, 0):
		return &FieldError{q, v, "is not a number"}
	case q == PH && v == 0:
		return nil // not measured
	case v < low || v > high:
		return outside(q, v)
	}
	return nil
}

// outside is the error of a value beyond its domain.
func outside(q Quantity, v float64) error {
	low, high := domain(q)
	return &FieldError{q, v, fmt.Sprintf("is outside %g to %g", low, high)}
}

// check refuses a water with a field outside its domain, naming the field. The volume
// is asked for only where it is used.
func (w *Water) check(needVolume bool) error {
	fields := [...]Quantity{
		Temperature, PH, TotalAlkalinity, CalciumHardness, CyanuricAcid, BorateB, TDS,
		FreeChlorine, CombinedChlorine, Bromine,
	}
	for _, q := range fields {
		if err := checkField(q, *w.At(q)); err != nil {
			return err
		}
	}
	if needVolume || w.VolumeL != 0 {
		return checkField(Volume, w.VolumeL)
	}
	return nil
}
