package water

import "math"

// Reading is what is known of one quantity: a number when Low equals High, else the
// range that the test leaves open. The zero Reading is one that was not taken. An open
// end is an infinity.
type Reading struct {
	Low, High float64
	Known     bool
}

// Exactly is a reading of one number.
func Exactly(v float64) Reading { return Reading{v, v, true} }

// Between is a reading somewhere in a range, its ends included.
func Between(low, high float64) Reading { return Reading{low, high, true} }

// middle is the centre of the range.
func (r Reading) middle() float64 { return (r.Low + r.High) / 2 }

// Readings are the readings of one water, field by field as in Water. The volume is
// among them: it too may be a range.
type Readings struct {
	VolumeL          Reading
	TempC            Reading
	PH               Reading
	TotalAlkalinity  Reading
	CalciumHardness  Reading
	CyanuricAcid     Reading
	BorateB          Reading
	TDS              Reading
	FreeChlorine     Reading
	CombinedChlorine Reading
	Bromine          Reading
}

// At points at the reading of q, or is nil when q names none.
func (r *Readings) At(q Quantity) *Reading {
	switch q {
	case Volume:
		return &r.VolumeL
	case Temperature:
		return &r.TempC
	case PH:
		return &r.PH
	case TotalAlkalinity:
		return &r.TotalAlkalinity
	case CalciumHardness:
		return &r.CalciumHardness
	case CyanuricAcid:
		return &r.CyanuricAcid
	case BorateB:
		return &r.BorateB
	case TDS:
		return &r.TDS
	case FreeChlorine:
		return &r.FreeChlorine
	case CombinedChlorine:
		return &r.CombinedChlorine
	case Bromine:
		return &r.Bromine
	}
	return nil
}

// check refuses a reading that is no range of its domain. Open ends are allowed.
func (r *Readings) check() error {
	for _, q := range Quantities() {
		v := *r.At(q)
		if !v.Known {
			continue
		}
		low, high := domain(q)
		switch {
		case math.IsNaN(v.Low) || math.IsNaN(v.High):
			return &FieldError{q, math.NaN(), "is not a number"}
		case v.Low > v.High:
			return &FieldError{q, v.Low, "is above the other end of its range"}
		case !math.IsInf(v.Low, -1) && (v.Low < low || v.Low > high):
			return outside(q, v.Low)
		case !math.IsInf(v.High, 1) && (v.High < low || v.High > high):
			return outside(q, v.High)
		}
	}
	return nil
}

// clipped is a reading without open ends, inside its domain.
func (r Reading) clipped(q Quantity) Reading {
	low, high := domain(q)
	return Reading{math.Max(r.Low, low), math.Min(r.High, high), r.Known}
}
