package water

import "time"

// Entry is one thing that was done to a tub, or read from it, at a time.
type Entry struct {
	At        time.Time
	Read      Readings   // what was read; unknown where it was not
	Added     []Addition // what went in
	Replaced  float64    // part of the water replaced, 0 to 1
	JetsFor   time.Duration
	Uncovered time.Duration
}

// Tub is what a forecast needs to know beside the log.
type Tub struct {
	VolumeL   Reading
	Sanitizer Sanitizer
	Fill      Readings // the fill water; what is unknown of it is taken as a wide range
	Decay     Decay    // of the sanitizer; the zero Decay takes UsualDecay
}

// coarseness is half of a pad's step, the error of a reading that was given as one
// number: common practice, no source.
func coarseness(q Quantity) float64 {
	switch q {
	case PH:
		return 0.2
	case TotalAlkalinity:
		return 20
	case CalciumHardness:
		return 40
	case CyanuricAcid:
		return 15
	case TDS:
		return 100
	case FreeChlorine, Bromine, CombinedChlorine:
		return 0.5
	case BorateB:
		return 5
	case Temperature:
		return 1
	}
	return 0
}

// drift is by how much a quantity may wander in a day with nobody looking, as a part of
// itself: evaporation, top-ups, splashing. Common practice, no source.
const drift = 0.02
