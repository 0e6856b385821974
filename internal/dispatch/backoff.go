package dispatch

import "time"

// How a message that could not be handed over is tried again: 12 attempts over some 20
// minutes. What has not gone out by then is no longer what the owner needs to hear, and
// a person takes over. Common practice, no source.
const (
	firstWait   = 2 * time.Second
	longestWait = 5 * time.Minute
	maxAttempts = 12
)

// backoff is how long to wait after an attempt (1 is the first). It doubles up to a
// cap; random, in [0,1), spreads it over its upper half, so that messages that failed
// together do not come back together.
func backoff(attempt int, random float64) time.Duration {
	d := longestWait
	if shift := max(attempt, 1) - 1; shift < 16 {
		d = min(firstWait<<shift, longestWait)
	}
	return d/2 + time.Duration(random*float64(d/2))
}
