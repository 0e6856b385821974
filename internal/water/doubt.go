package water

import "time"

// Reason says why a reading cannot be true.
type Reason string

// The reasons to ask again.
const (
	JumpedUp      Reason = "jumped_up"      // higher than the additions can explain
	JumpedDown    Reason = "jumped_down"    // lower than the additions can explain
	MaybeBleached Reason = "maybe_bleached" // zero right after a big dose: the pad may be bleached
	Contradicts   Reason = "contradicts"    // cannot go with the other readings
)

// Doubt is a reading to ask again: what was read and what the log leads to expect.
type Doubt struct {
	Quantity       Quantity
	Reason         Reason
	Read, Expected Reading
}

// bleaching is the free chlorine, mg/L, from which a strip's pads may bleach and read
// zero: from memory, no source.
const bleaching = 10

// Doubts compares new readings with the forecast from a log and lists those that cannot
// be true, each to be asked again before anything is done. A sanitizer that is lower
// than expected is not doubted (bathers use it up), unless it reads zero where enough
// was there to bleach the pads. Errors: as Forecast.
func Doubts(log []Entry, tub Tub, read Readings, at time.Time) ([]Doubt, error) {
	if err := read.check(); err != nil {
		return nil, err
	}
	expected, err := Forecast(log, tub, at)
	if err != nil {
		return nil, err
	}
	var doubts []Doubt
	for _, q := range Quantities() {
		v, e := *read.At(q), *expected.At(q)
		if !v.Known || !e.Known || q == Volume || q == Temperature {
			continue
		}
		if reason, ok := doubt(q, v, e); ok {
			doubts = append(doubts, Doubt{q, reason, v, e})
		}
	}
	if !possible(&read) {
		doubts = append(doubts, Doubt{TotalAlkalinity, Contradicts, read.TotalAlkalinity, expected.TotalAlkalinity})
	}
	return doubts, nil
}

// doubt compares one reading with what was expected, with a pad's error between them.
func doubt(q Quantity, read, expected Reading) (Reason, bool) {
	slack := coarseness(q)
	sanitizer := q == FreeChlorine || q == Bromine || q == CombinedChlorine
	switch {
	case q == FreeChlorine && read.High <= slack && expected.High >= bleaching:
		return MaybeBleached, true
	case read.Low > expected.High+slack && q != CombinedChlorine:
		return JumpedUp, true
	case read.High < expected.Low-slack && !sanitizer:
		return JumpedDown, true
	}
	return "", false
}

// possible says whether any water fits the readings at all.
func possible(read *Readings) bool {
	if !read.PH.Known || !read.TotalAlkalinity.Known {
		return true
	}
	r := *read
	for _, q := range chemical() {
		if v := r.At(q); !v.Known {
			*v = Exactly(0)
			if q == Temperature {
				*v = Exactly(DefaultTempC)
			}
		}
	}
	r.VolumeL = Exactly(1000)
	return len(corners(&r)) > 0
}
