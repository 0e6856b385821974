package understand

import (
	"encoding/json"
	"fmt"
)

// MarshalJSON writes 7.2, [7.2,7.8], [10,null], [null,1] or "unknown".
func (v Value) MarshalJSON() ([]byte, error) {
	switch {
	case v.Unknown:
		return []byte(`"unknown"`), nil
	case v.OpenLow || v.OpenHigh || v.Low != v.High:
		return json.Marshal([2]any{end(v.Low, v.OpenLow), end(v.High, v.OpenHigh)})
	}
	return json.Marshal(v.Low)
}

func end(x float64, open bool) any {
	if open {
		return nil
	}
	return x
}

// UnmarshalJSON reads what MarshalJSON writes.
func (v *Value) UnmarshalJSON(data []byte) error {
	*v = Value{}
	var text string
	if json.Unmarshal(data, &text) == nil {
		if text != "unknown" {
			return fmt.Errorf("reading %q: want a number, [low,high] or \"unknown\"", text)
		}
		v.Unknown = true
		return nil
	}
	if json.Unmarshal(data, &v.Low) == nil && string(data) != "null" {
		v.High = v.Low
		return nil
	}
	var ends []*float64
	if err := json.Unmarshal(data, &ends); err != nil {
		return fmt.Errorf("reading %s: want a number, [low,high] or \"unknown\": %w", data, err)
	}
	if len(ends) != 2 || ends[0] == nil && ends[1] == nil {
		return fmt.Errorf("reading %s: want two ends, at most one of them null", data)
	}
	v.OpenLow, v.OpenHigh = ends[0] == nil, ends[1] == nil
	if !v.OpenLow {
		v.Low = *ends[0]
	}
	if !v.OpenHigh {
		v.High = *ends[1]
	}
	return nil
}

// sides are the lengths as `tubhand understand` writes them, in metres.
type sides struct {
	Shape  string  `json:"shape"`
	Length float64 `json:"length_m"`
	Width  float64 `json:"width_m"`
	Depth  float64 `json:"depth_m"`
}

// MarshalJSON writes {"us_gal":375}, {"us_gal":[350,400]}, {"dimensions":{...},"us_gal":420} or "unknown".
func (v Volume) MarshalJSON() ([]byte, error) {
	if v.Unknown {
		return []byte(`"unknown"`), nil
	}
	var out struct {
		Dimensions *sides `json:"dimensions,omitempty"`
		USGal      Value  `json:"us_gal"`
	}
	out.USGal = Value{Low: v.LowUSGal, High: v.HighUSGal, OpenLow: v.OpenLow, OpenHigh: v.OpenHigh}
	if d := v.Dimensions; d != nil {
		out.Dimensions = &sides{d.Shape, d.Length, d.Width, d.Depth}
	}
	return json.Marshal(out)
}
