package water

import "time"

// Sanitizer is what keeps the water clean.
type Sanitizer string

// The sanitizers.
const (
	ByChlorine Sanitizer = "chlorine"
	ByBromine  Sanitizer = "bromine"
)

// other is the reading that the other sanitizer would have.
func (s Sanitizer) other() Quantity {
	if s == ByBromine {
		return FreeChlorine
	}
	return Bromine
}

// Severity says whether a person must take over.
type Severity string

// The severities a plan can have.
const (
	NoSeverity Severity = "none"
	PersonSoon Severity = "person_soon"
)

// Request is what a plan is made from.
type Request struct {
	Water     Readings
	Sanitizer Sanitizer
	OnHand    []Product

	// Bands are a shop's own limits; nil takes DefaultBands. They may be tighter,
	// never wider.
	Bands *Bands
	// Fill is the water that a refill would bring; nil takes water without calcium and
	// with the default dissolved solids.
	Fill *Water
	// DosesWithoutRise counts the sanitizer doses in a row after which the sanitizer
	// did not rise. Two are one too many.
	DosesWithoutRise int
	// CombinedTreated is true where the combined chlorine was treated once already.
	CombinedTreated bool
	// Breakpoint asks for the free chlorine to be raised to ten times the combined, as
	// far as the cap of the fix band allows. Nobody soaks until it has fallen.
	Breakpoint bool
}

// Why is the reason of one addition.
type Why string

// The reasons.
const (
	RaiseAlkalinity Why = "raise_alkalinity"
	LowerAlkalinity Why = "lower_alkalinity"
	RaisePH         Why = "raise_ph"
	LowerPH         Why = "lower_ph"
	RaiseChlorine   Why = "raise_chlorine"
	RaiseBromine    Why = "raise_bromine"
	BankBromide     Why = "bank_bromide"
	RaiseHardness   Why = "raise_hardness"
	BurnCombined    Why = "burn_combined_chlorine"
)

// Dose is one addition of a plan: the grams are those of the measure, both rounded
// down. Wait is how long it mixes, jets on, before the next step. After is what the
// model predicts for the readings then.
type Dose struct {
	Addition
	Measure Measure
	Why     Why
	Wait    time.Duration
	After   Readings
}

// Verdict is the band of one reading.
type Verdict struct {
	Quantity Quantity
	Reading  Reading
	Band     Band
}

// Advice is a plan. Soak is whether the water as read is fit to soak in now, before any
// addition; after an addition only fresh readings can say so. DrainFraction is the part
// of the water to replace, 0 where dilution is not called for.
type Advice struct {
	Soak          bool
	Severity      Severity
	Verdicts      []Verdict
	Additions     []Dose
	Retest        []Quantity
	Cautions      []Caution
	DrainFraction float64
	Predicted     Readings // after all additions
}

// Waits while an addition mixes with the jets on. 30 minutes is common practice, no
// source; calcium dissolves slower. One hour after monopersulfate is a test-kit
// maker's figure.
func mixing(c Chemical) time.Duration {
	switch c {
	case CalciumChloride77, CalciumChloride100, Monopersulfate:
		return time.Hour
	}
	return 30 * time.Minute
}
