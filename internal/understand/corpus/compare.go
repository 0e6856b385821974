package corpus

import (
	"fmt"
	"math"

	"tubhand/internal/understand"
)

// Outcome is what the comparison of one sample found.
type Outcome struct {
	Sample          Sample
	Got             understand.Meaning
	Missed, Wrong   []string // readings not found; invented or of another value
	VolumeRight     bool
	IntentRight     bool
	ActedNotAsked   bool // should have asked back, did not
	AskedNeedlessly bool
}

// Compare understands one sample and compares.
func Compare(r *understand.Reader, s Sample) Outcome {
	got := r.Understand(*s.Text, s.Context())
	o := Outcome{Sample: s, Got: got}
	for _, q := range understand.AllQuantities() {
		want, wanted := s.Want.Readings[q]
		have, has := got.Readings[q]
		switch {
		case wanted && !has:
			o.Missed = append(o.Missed, string(q))
		case has && !wanted, wanted && !near(want, have, 0.006):
			o.Wrong = append(o.Wrong, fmt.Sprintf("%s=%s", q, show(have)))
		}
	}
	o.VolumeRight = sameVolume(s.Want.Volume, got.Volume)
	o.IntentRight = s.Want.Intent == "" || s.Want.Intent == got.Intent && (s.Want.Service == "" || s.Want.Service == got.Service)
	o.ActedNotAsked = s.Want.Clarify && !got.Clarify
	o.AskedNeedlessly = got.Clarify && !s.Want.Clarify
	return o
}

func show(v understand.Value) string {
	data, err := v.MarshalJSON()
	if err != nil {
		return err.Error()
	}
	return string(data)
}

func near(a, b understand.Value, share float64) bool {
	if a.Unknown || b.Unknown {
		return a.Unknown == b.Unknown
	}
	return a.OpenLow == b.OpenLow && a.OpenHigh == b.OpenHigh &&
		(a.OpenLow || close(a.Low, b.Low, share)) && (a.OpenHigh || close(a.High, b.High, share))
}

func close(a, b, share float64) bool {
	return math.Abs(a-b) <= share*math.Max(math.Abs(a), math.Abs(b))+1e-9
}

func sameVolume(want *Volume, got *understand.Volume) bool {
	if want == nil || got == nil {
		return want == nil && got == nil
	}
	if want.Unknown || got.Unknown {
		return want.Unknown == got.Unknown
	}
	have := understand.Value{Low: got.LowUSGal, High: got.HighUSGal, OpenLow: got.OpenLow, OpenHigh: got.OpenHigh}
	if want.Dimensions {
		return got.Dimensions != nil && near(want.USGal, have, 0.35)
	}
	return got.Dimensions == nil && near(want.USGal, have, 0.02)
}
