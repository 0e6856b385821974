package console

import (
	"math"
	"slices"
	"strings"

	"tubhand/internal/conversation"
	"tubhand/internal/understand"
)

// doseView is a dose that was advised or went in, and the water it was to lead to.
type doseView struct {
	What     string
	At       moment
	Advised  bool // not confirmed yet
	Size     string
	Expected string // what the chemistry expects once it has mixed; "" where it can't tell
}

// doses lists what is advised and what went in during this service, the newest first.
func (c *Console) doses(conv *conversation.Conversation) []doseView {
	s := conv.Service
	if s == nil {
		return nil
	}
	type dated struct {
		conversation.Dose
		advised bool
	}
	var all []dated
	for _, d := range s.Advised {
		all = append(all, dated{d, true})
	}
	for _, d := range s.Added {
		all = append(all, dated{d, false})
	}
	slices.SortFunc(all, func(a, b dated) int {
		if by := b.At.Compare(a.At); by != 0 {
			return by
		}
		return strings.Compare(a.Name, b.Name)
	})
	var out []doseView
	for _, d := range all {
		v := doseView{What: doseWords(d.Dose), At: c.moment(d.At), Advised: d.advised}
		if d.USGal > 0 {
			v.Size = gallons(d.USGal) + " US gal"
		}
		if d.advised {
			v.Expected = outlookWords(conversation.Expect(conv, conversation.Mixed(c.Clock.Now()), d.Dose))
		} else if d.Chemical != "" {
			v.Expected = outlookWords(conversation.Expect(conv, conversation.Mixed(d.At)))
		}
		out = append(out, v)
	}
	return out
}

// outlookWords: "free chlorine 3 to 4.1 ppm, pH 7.3 to 7.5".
func outlookWords(list []conversation.Outlook) string {
	var parts []string
	for _, o := range list {
		name, unit := quantityWords(o.Quantity)
		if o.Quantity != understand.PH {
			name = strings.ToLower(name)
		}
		low, high := number(math.Round(o.Low*10)/10), number(math.Round(o.High*10)/10)
		if low != high {
			low += " to " + high
		}
		parts = append(parts, strings.TrimSpace(name+" "+low+" "+unit))
	}
	return strings.Join(parts, ", ")
}
