package conversation

import "tubhand/internal/understand"

// tongueOf is how a language says things; English where it is not known.
func tongueOf(language string) *tongue {
	if language == "es" {
		return &spanish
	}
	return &english
}

// DoseSaid says a dose in a language ("en", "es"), for channels that have room for a
// table: what to add, how much of it with its weight, and why.
func DoseSaid(language string, d *Dose, metric bool) (product, measure, why string) {
	s := tongueOf(language)
	return s.product(d), s.measure(d, metric), s.why(d)
}

// Gist puts what was understood in a few words, for staff, as a line of the transcript keeps it.
func Gist(m understand.Meaning) string { return gist(m) }

// QuantitySaid names a quantity in a language, as the trade does.
func QuantitySaid(language string, q understand.Quantity) string { return tongueOf(language).name(q) }
