package tub

import (
	"fmt"
	"strconv"
)

// FieldError is a value that no tub can have: the field, what was given, what is
// possible. Field names carry their unit.
type FieldError struct {
	Field string
	Text  string // the value as given
	Want  string // what would be taken
}

// Error says all three.
func (e *FieldError) Error() string {
	return fmt.Sprintf("%s: must be %s, got %q", e.Field, e.Want, e.Text)
}

// within is nil when low < value <= high. The comparison is written so that NaN, which
// compares false with everything, is refused.
func within(field string, value, low, high float64) error {
	if value > low && value <= high {
		return nil
	}
	return &FieldError{
		Field: field,
		Text:  strconv.FormatFloat(value, 'g', -1, 64),
		Want:  fmt.Sprintf("over %g and at most %g", low, high),
	}
}

// firstOf gives the first error of a list of checks, or nil.
func firstOf(checks ...error) error {
	for _, err := range checks {
		if err != nil {
			return err
		}
	}
	return nil
}
