package water

import (
	"errors"
	"math"
)

// LabelRate is the rate on a product's label: that many level teaspoons for that many
// US gallons, and how many level teaspoons a jar holds.
type LabelRate struct {
	Teaspoons, PerUSGal, JarTeaspoons float64
}

// ErrUnknownVolume is returned where a dose is asked for a tub whose volume is not known.
var ErrUnknownVolume = errors.New("no dose without the tub's volume")

// ErrLabelRate is returned for a label whose numbers are not positive.
var ErrLabelRate = errors.New("the label rate needs positive teaspoons, gallons and jar")

// ErrTinyDose is returned where the label gives less than a quarter teaspoon.
var ErrTinyDose = errors.New("the label dose is under a quarter teaspoon")

// Dose is the level teaspoons for a tub, rounded down to a quarter spoon and never up.
// It is 0 where the label gives less than a quarter. Errors: ErrUnknownVolume for a
// volume that is not positive and finite, ErrLabelRate.
func (r LabelRate) Dose(usGal float64) (float64, error) {
	if !(usGal > 0) || math.IsInf(usGal, 0) {
		return 0, ErrUnknownVolume
	}
	if !(r.Teaspoons > 0) || !(r.PerUSGal > 0) || math.IsInf(r.Teaspoons, 0) || math.IsInf(r.PerUSGal, 0) {
		return 0, ErrLabelRate
	}
	return quartersDown(usGal * r.Teaspoons / r.PerUSGal), nil
}

// quartersDown rounds down to quarters. The hair above keeps an exact quarter that
// arithmetic left a bit short.
func quartersDown(spoons float64) float64 {
	return math.Floor(spoons*4+1e-9) / 4
}

// TubsLeft is how many whole doses for this tub the full jar holds.
func (r LabelRate) TubsLeft(usGal float64) (int, error) {
	dose, err := r.Dose(usGal)
	switch {
	case err != nil:
		return 0, err
	case !(r.JarTeaspoons > 0) || math.IsInf(r.JarTeaspoons, 0):
		return 0, ErrLabelRate
	case dose == 0:
		return 0, ErrTinyDose
	}
	return int(math.Floor(r.JarTeaspoons/dose + 1e-9)), nil
}

// JarsFor is how many jars a number of services on this tub takes together.
func (r LabelRate) JarsFor(services int, usGal float64) (int, error) {
	dose, err := r.Dose(usGal)
	switch {
	case err != nil || services <= 0:
		return 0, err
	case !(r.JarTeaspoons > 0) || math.IsInf(r.JarTeaspoons, 0):
		return 0, ErrLabelRate
	}
	return int(math.Ceil(float64(services)*dose/r.JarTeaspoons - 1e-9)), nil
}
