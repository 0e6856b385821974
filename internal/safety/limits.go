package safety

import (
	"fmt"
	"maps"
	"slices"
)

// Limits are the bands that one shop's readings are judged by. The zero value knows no
// quantity and clears nothing; begin with Default.
type Limits struct {
	rows []Limit
}

// Default is the limits as published, with our decisions where nothing is.
func Default() Limits { return Limits{rows: slices.Clone(table)} }

// All lists the limits, sanitizers first, in the order that findings come in.
func (l Limits) All() []Limit { return slices.Clone(l.rows) }

// Of gives the limit of a quantity; ok is false where it has none.
func (l Limits) Of(quantity string) (limit Limit, ok bool) {
	for _, row := range l.rows {
		if row.Quantity == quantity {
			return row, true
		}
	}
	return Limit{}, false
}

// Narrower is how a shop tightens one quantity: the bounds it moves inwards. A nil
// bound stays as it is.
type Narrower struct {
	SoakLow  *float64 `yaml:"soak_low"`
	SoakHigh *float64 `yaml:"soak_high"`
	FixLow   *float64 `yaml:"fix_low"`
	FixHigh  *float64 `yaml:"fix_high"`
}

// LimitError is a bound that a shop may not set: the quantity and the bound
// (soak_low, soak_high, fix_low, fix_high; "" when the quantity itself is wrong).
type LimitError struct {
	Quantity string
	Bound    string
	Problem  string
}

// Error names quantity and bound and says what is wrong.
func (e *LimitError) Error() string {
	if e.Bound == "" {
		return fmt.Sprintf("%s: %s", e.Quantity, e.Problem)
	}
	return fmt.Sprintf("%s: %s: %s", e.Quantity, e.Bound, e.Problem)
}

// Tighten gives the limits with bounds moved inwards, and l itself stays as it is. A
// bound that would loosen a limit, that is not a number, or that leaves no value to
// aim for is a *LimitError; so is a quantity without limits. Of several faults the
// first by the quantity's name is told.
func (l Limits) Tighten(narrower map[string]Narrower) (Limits, error) {
	tight := Limits{rows: slices.Clone(l.rows)}
	for _, quantity := range slices.Sorted(maps.Keys(narrower)) {
		at := slices.IndexFunc(tight.rows, func(row Limit) bool { return row.Quantity == quantity })
		if at < 0 {
			return Limits{}, &LimitError{Quantity: quantity, Problem: "is no quantity with limits"}
		}
		if err := tight.rows[at].tighten(narrower[quantity]); err != nil {
			return Limits{}, err
		}
	}
	return tight, nil
}

// tighten moves the bounds of one limit.
func (row *Limit) tighten(to Narrower) error {
	for _, move := range []struct {
		bound    string
		to, from *float64
		inwards  float64 // 1: a higher bound is narrower, -1: a lower one
	}{
		{"fix_low", to.FixLow, &row.Fix.Low, 1},
		{"fix_high", to.FixHigh, &row.Fix.High, -1},
		{"soak_low", to.SoakLow, &row.Soak.Low, 1},
		{"soak_high", to.SoakHigh, &row.Soak.High, -1},
	} {
		if move.to == nil {
			continue
		}
		// Written so that a bound which is not a number is refused too.
		if narrower := (*move.to-*move.from)*move.inwards >= 0 || *move.to == *move.from; !narrower {
			return row.fault(move.bound, fmt.Sprintf("%g would loosen the limit of %g", *move.to, *move.from))
		}
		*move.from = *move.to
	}
	return row.settle()
}

// settle keeps Aim in Soak and Soak in Fix after a move.
func (row *Limit) settle() error {
	row.Soak = Range{max(row.Soak.Low, row.Fix.Low), min(row.Soak.High, row.Fix.High)}
	row.Aim = Range{max(row.Aim.Low, row.Soak.Low), min(row.Aim.High, row.Soak.High)}
	if !row.Soak.known() {
		return row.fault("", fmt.Sprintf("no value is left to soak in: %g to %g", row.Soak.Low, row.Soak.High))
	}
	if !row.Aim.known() {
		row.Aim = row.Soak
	}
	return nil
}

func (row *Limit) fault(bound, problem string) error {
	return &LimitError{Quantity: row.Quantity, Bound: bound, Problem: problem}
}
