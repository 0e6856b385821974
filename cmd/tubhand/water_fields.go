package main

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"

	"tubhand/internal/water"
)

// waterWater is a water as JSON. The pH is left out where it is not known.
type waterWater struct {
	VolumeL          float64  `json:"volume_l"`
	TempC            float64  `json:"temp_c"`
	PH               *float64 `json:"ph,omitempty"`
	TotalAlkalinity  float64  `json:"total_alkalinity"`
	CalciumHardness  float64  `json:"calcium_hardness"`
	CyanuricAcid     float64  `json:"cyanuric_acid"`
	BorateB          float64  `json:"borate_b"`
	TDS              float64  `json:"tds"`
	FreeChlorine     float64  `json:"free_chlorine"`
	CombinedChlorine float64  `json:"combined_chlorine"`
	Bromine          float64  `json:"bromine"`
}

func waterWaterOf(w water.Water) waterWater {
	out := waterWater{
		w.VolumeL, w.TempC, nil, w.TotalAlkalinity, w.CalciumHardness, w.CyanuricAcid,
		w.BorateB, w.TDS, w.FreeChlorine, w.CombinedChlorine, w.Bromine,
	}
	if w.PH != 0 {
		out.PH = &w.PH
	}
	return out
}

// readings reads the fields of a water, numbers or ranges; an end that is null is open.
// A field that was left out, or is null, stays unknown.
func (r *waterRequest) readings() (water.Readings, error) {
	var out water.Readings
	for name, raw := range r.Water {
		q := water.Quantity(name)
		if !slices.Contains(water.Quantities(), q) {
			return out, fmt.Errorf("water.%s: no such field", name)
		}
		v, err := waterReading(raw)
		if err != nil {
			return out, fmt.Errorf("water.%s: %w", name, err)
		}
		*out.At(q) = v
	}
	return out, nil
}

// waterReading reads 7.2, [7.2,7.8], [10,null] or null.
func waterReading(raw json.RawMessage) (water.Reading, error) {
	var one *float64
	if err := json.Unmarshal(raw, &one); err == nil {
		if one == nil {
			return water.Reading{}, nil
		}
		return water.Exactly(*one), nil
	}
	var ends []*float64
	if err := json.Unmarshal(raw, &ends); err != nil || len(ends) != 2 {
		return water.Reading{}, fmt.Errorf("%s is neither a number nor a range of two", raw)
	}
	v := water.Between(math.Inf(-1), math.Inf(1))
	if ends[0] != nil {
		v.Low = *ends[0]
	}
	if ends[1] != nil {
		v.High = *ends[1]
	}
	return v, nil
}

// exactWater reads a water of numbers; what is left out is 0, the temperature 38 and
// the dissolved solids 500.
func (r *waterRequest) exactWater() (water.Water, error) {
	w := water.Water{TempC: water.DefaultTempC, TDS: water.DefaultTDS}
	readings, err := r.readings()
	if err != nil {
		return w, err
	}
	for _, q := range water.Quantities() {
		v := readings.At(q)
		if !v.Known {
			continue
		}
		if v.Low != v.High {
			return w, fmt.Errorf("water.%s: a range is for plan only", q)
		}
		*w.At(q) = v.Low
	}
	return w, nil
}
