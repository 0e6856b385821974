package water

import (
	"fmt"
	"math"
)

// Predict gives the water after the additions have mixed in, in order, with the water
// closed to air. The result may leave the domain of a reading (an alkalinity under 0
// after too much acid): that is what the chemistry says. Errors: *FieldError for a
// reading out of its domain or a volume not given, *ChemicalError, ErrContradiction.
//
// A chlorine product raises bromine where the water holds bromine; potassium
// monopersulfate shows as combined chlorine, as a test would read it; sodium
// thiosulfate takes chlorine away at the field rate, with what is left over ignored.
func Predict(w Water, additions ...Addition) (Water, error) {
	if err := w.check(true); err != nil {
		return Water{}, err
	}
	k := constantsAt(w.TempC, Wahman)
	m, err := k.mixtureOf(&w)
	if err != nil {
		return Water{}, err
	}
	for _, a := range additions {
		if err := m.pour(a); err != nil {
			return Water{}, err
		}
	}
	var s species
	if err := k.settle(&m, &s); err != nil {
		return Water{}, fmt.Errorf("predict: %w", err)
	}
	return m.water(w.TempC), nil
}

// pour adds grams of a product to the mixture.
func (m *mixture) pour(a Addition) error {
	e, err := perGram(a.Chemical)
	if err != nil {
		return err
	}
	if math.IsNaN(a.Grams) || a.Grams < 0 || a.Grams > mostGramsPerLitre*m.volume {
		return &GramsError{a}
	}
	e = e.scaled(a.Grams / m.volume)
	m.add(&e)
	return nil
}

// mostGramsPerLitre bounds what an addition may be: past it this is no tub water and
// the activities do not hold.
const mostGramsPerLitre = 20

// GramsError is an addition whose grams are no number, negative, or beyond 20 g for
// each litre of the tub.
type GramsError struct{ Addition Addition }

// Error names the chemical and the grams.
func (e *GramsError) Error() string {
	return fmt.Sprintf("grams: %g of %s is not between 0 and 20 g for each litre", e.Addition.Grams, e.Addition.Chemical)
}
