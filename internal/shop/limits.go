package shop

import (
	"errors"
	"fmt"

	"tubhand/internal/safety"
)

// limits checks that a shop only tightens what readings may be.
func (c *check) limits(narrower map[string]safety.Narrower) map[string]safety.Narrower {
	for _, quantity := range keys(narrower) {
		path := "$.limits." + quantity
		if _, ok := safety.Default().Of(quantity); !ok {
			c.bad(path, "is no reading with limits; write one of: %s", list(quantities()))
			continue
		}
		if c.loosens(path, quantity, narrower[quantity]) {
			continue
		}
		var wrong *safety.LimitError
		if _, err := tightened(quantity, narrower[quantity]); errors.As(err, &wrong) {
			c.bad(path, "%s; leave room between the bounds", wrong.Problem)
		}
	}
	return narrower
}

// loosens tries each bound by itself, so that every one that is wrong is told.
func (c *check) loosens(path, quantity string, n safety.Narrower) bool {
	limit, _ := safety.Default().Of(quantity)
	found := false
	for _, bound := range []struct {
		one  safety.Narrower
		most string // what may be written instead
	}{
		{safety.Narrower{SoakLow: n.SoakLow}, fmt.Sprintf("%g or more", limit.Soak.Low)},
		{safety.Narrower{SoakHigh: n.SoakHigh}, fmt.Sprintf("%g or less", limit.Soak.High)},
		{safety.Narrower{FixLow: n.FixLow}, fmt.Sprintf("%g or more", limit.Fix.Low)},
		{safety.Narrower{FixHigh: n.FixHigh}, fmt.Sprintf("%g or less", limit.Fix.High)},
	} {
		var wrong *safety.LimitError
		if _, err := tightened(quantity, bound.one); errors.As(err, &wrong) && wrong.Bound != "" {
			c.bad(path+"."+wrong.Bound, "%s; a shop may only tighten it, so write %s, or take it out", wrong.Problem, bound.most)
			found = true
		}
	}
	return found
}

func tightened(quantity string, n safety.Narrower) (safety.Limits, error) {
	return safety.Default().Tighten(map[string]safety.Narrower{quantity: n})
}

// quantities names what has limits.
func quantities() map[string]bool {
	names := map[string]bool{}
	for _, limit := range safety.Default().All() {
		names[limit.Quantity] = true
	}
	return names
}
