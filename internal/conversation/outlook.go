package conversation

import (
	"time"

	"tubhand/internal/understand"
)

// Outlook is what the chemistry expects of a quantity at a time, from what was read and
// added before.
type Outlook struct {
	Quantity  understand.Quantity
	Low, High float64
}

// Expect tells for staff what the log leads to expect of the water at a time, with doses
// that would go in a mixing time before it. Nothing is told where nothing was read, where a
// dose is the label's to say, or where the chemistry can't follow. It never decides
// anything: only a test does.
func Expect(c *Conversation, at time.Time, with ...Dose) []Outlook {
	t := &turn{c: c.clone(), now: at.Add(-mixes)}
	for _, d := range with {
		if d.Chemical == "" || d.Grams <= 0 {
			return nil
		}
		t.remember(Past{Chemical: d.Chemical, Grams: d.Grams})
	}
	return t.outlook(at)
}

// Mixed is when a dose that goes in at a time has mixed, so that a test of it counts.
func Mixed(at time.Time) time.Time { return at.Add(mixes) }
