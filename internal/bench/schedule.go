package bench

import (
	"math"
	"time"
)

// Schedule says when the nth request (1 is the first) is to be sent, from the beginning
// on, and whether there is one.
type Schedule func(n int64) (at time.Duration, more bool)

// Burst is n requests as fast as they are answered.
func Burst(n int64) Schedule {
	return func(i int64) (time.Duration, bool) { return 0, i <= n }
}

// Even is so many requests a second for so long.
func Even(rate float64, long time.Duration) Schedule {
	last := int64(rate * long.Seconds())
	return func(n int64) (time.Duration, bool) {
		return time.Duration(float64(n) / rate * float64(time.Second)), n <= last
	}
}

// Ramp begins at the rate low (requests a second), rises evenly to high in the middle,
// and falls again as it rose.
func Ramp(low, high float64, long time.Duration) Schedule {
	whole := long.Seconds()
	half := (low + high) / 4 * whole // requests up to the middle
	slope := (high - low) / (whole / 2)
	rise := func(n float64) float64 { // when the nth is sent on the way up
		if slope == 0 {
			return n / low
		}
		return (math.Sqrt(low*low+2*slope*n) - low) / slope
	}
	return func(n int64) (time.Duration, bool) {
		at := rise(float64(n))
		if float64(n) > half {
			at = whole - rise(math.Max(2*half-float64(n), 0))
		}
		return time.Duration(at * float64(time.Second)), float64(n) <= 2*half
	}
}
