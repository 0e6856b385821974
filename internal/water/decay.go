package water

import (
	"math"
	"time"
)

// Decay is how fast a sanitizer is used up: the rate per hour of an exponential fall,
// somewhere between Low and High.
type Decay struct{ Low, High float64 }

// UsualDecay is a covered tub, from one at rest to one that was bathed in: common
// practice, no source. DecayBetween learns a tub's own.
func UsualDecay() Decay { return Decay{0.005, 0.15} }

// DecayBetween is the decay that two readings show with nothing added between. ok is
// false where they show none: the sanitizer did not fall, none was there, or no time
// passed. A second reading that may be zero leaves the rate open upward.
func DecayBetween(first, second Reading, elapsed time.Duration) (d Decay, ok bool) {
	hours := elapsed.Hours()
	if !first.Known || !second.Known || hours <= 0 || !(first.High > 0) || !(second.Low < first.High) {
		return Decay{}, false
	}
	d.Low = math.Max(0, math.Log(first.Low/second.High)/hours)
	d.High = math.Log(first.High/second.Low) / hours
	if math.IsNaN(d.Low) {
		d.Low = 0
	}
	return d, true
}

// After is what is left of a reading after some time.
func (d Decay) After(r Reading, elapsed time.Duration) Reading {
	if !r.Known || elapsed < 0 {
		return r
	}
	left := Reading{r.Low * math.Exp(-d.High*elapsed.Hours()), r.High * math.Exp(-d.Low*elapsed.Hours()), true}
	if math.IsNaN(left.Low) {
		left.Low = r.Low
	}
	return left
}

// Until is how long a reading stays above a floor: soonest for its low end at the high
// rate, latest for its high end at the low rate. A fall that may never come is the
// longest time.Duration.
func (d Decay) Until(r Reading, floor float64) (soonest, latest time.Duration) {
	return fallTime(r.Low, floor, d.High), fallTime(r.High, floor, d.Low)
}

// fallTime is ln(from/to)/rate in hours, kept inside a time.Duration.
func fallTime(from, to, rate float64) time.Duration {
	if !(from > to) {
		return 0
	}
	hours := math.Log(from/to) / rate
	const longest = time.Duration(math.MaxInt64)
	if !(hours < longest.Hours()) {
		return longest
	}
	return time.Duration(hours * float64(time.Hour))
}
