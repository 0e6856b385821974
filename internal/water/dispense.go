package water

// Dispense turns grams into what can be measured out, rounded down, and gives the grams
// that this measure holds: 0 where the dose is too small to measure.
func (p Product) Dispense(grams float64) (Measure, float64) { return p.measure(grams) }
