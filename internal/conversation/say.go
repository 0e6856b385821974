package conversation

import (
	"math"
	"strconv"
	"strings"
	"time"

	"tubhand/internal/tub"
	"tubhand/internal/understand"
	"tubhand/internal/water"
)

// tongue is how a language says the pieces that texts are filled with: amounts, times,
// readings, reasons. Owners get their own; what staff read is English.
type tongue struct {
	someone     string
	gallons     string
	litres      string
	units       map[water.Unit][2]string // of one, of more
	byLabel     string                   // the label's dose; "#" stands for the volume
	unknown     string                   // an amount that nobody knows
	neutralizer string                   // a product that the shop does not sell
	names       map[understand.Quantity]string
	unreadable  string
	over, under string
	to, and     string
	inRange     string
	whys        map[string]string // "#" stands for the level that was measured
	minute      string
	minutes     string
	hours       [2]string // around a number of hours
	clock       func(at time.Time, days int) string
	openUntil   func(close int) string
	opens       func(ahead int, day time.Weekday, open int) string
}

// Kinds of amount that no spoon or scale measures.
const (
	labelAmount   water.Unit = "label"
	unknownAmount water.Unit = "unknown"
)

// Reasons beside those of package water.
const (
	whyFreshWater   = "fresh_water"
	whyFreshBromide = "fresh_bromide"
	whyStripShows   = "strip_shows"
)

// tongue is the owner's.
func (t *turn) tongue() *tongue {
	if t.language() == "es" {
		return &spanish
	}
	return &english
}

// amount says how much is to be measured out: "2 3/4 level teaspoons".
func (s *tongue) amount(quantity float64, unit water.Unit) string {
	text, _, _ := strings.Cut(water.Measure{Quantity: quantity, Unit: unit}.String(), " "+string(unit))
	if quantity > 1 {
		return text + " " + s.units[unit][1]
	}
	return text + " " + s.units[unit][0]
}

// measure says a dose's amount and what it weighs.
func (s *tongue) measure(d *Dose, metric bool) string {
	switch d.Unit {
	case "":
		return d.Measure
	case unknownAmount:
		return s.unknown
	case labelAmount:
		return strings.ReplaceAll(s.byLabel, "#", s.volume(d.USGal, metric))
	}
	text := s.amount(d.Amount, d.Unit)
	if d.Grams > 0 && d.Unit != water.Gram {
		text += " (" + number(math.Round(d.Grams*10)/10) + " g)"
	}
	return text
}

// product says what a dose is of.
func (s *tongue) product(d *Dose) string {
	if d.Product == english.neutralizer {
		return s.neutralizer
	}
	return d.Product
}

// why says in a sentence why a dose is advised.
func (s *tongue) why(d *Dose) string {
	return strings.ReplaceAll(s.whys[d.Why], "#", number(d.From))
}

// volume says a volume in the owner's units; "" when it is not known.
func (s *tongue) volume(usGal float64, metric bool) string {
	if usGal <= 0 {
		return ""
	}
	if metric {
		return strconv.Itoa(int(math.Round(tub.Litres(usGal)))) + " " + s.litres
	}
	return strconv.Itoa(int(math.Round(usGal))) + " " + s.gallons
}

// name is what the trade calls a quantity.
func (s *tongue) name(q understand.Quantity) string {
	if name, ok := s.names[q]; ok {
		return name
	}
	return string(q)
}

// reading says one reading: "pH 7.4", "free chlorine 3 to 5", "bromine over 10".
func (s *tongue) reading(q understand.Quantity, v understand.Value) string {
	name := s.name(q) + " "
	unit := ""
	if q == understand.WaterTemp {
		unit = " F"
	}
	switch {
	case v.Unknown:
		return name + s.unreadable
	case v.OpenHigh:
		return name + s.over + number(v.Low) + unit
	case v.OpenLow:
		return name + s.under + number(v.High) + unit
	case v.Low != v.High:
		return name + number(v.Low) + s.to + number(v.High) + unit
	}
	return name + number(v.Low) + unit
}

func (s *tongue) readings(r Readings) string {
	var parts []string
	for _, q := range ordered(r) {
		parts = append(parts, s.reading(q, r[q]))
	}
	return strings.Join(parts, ", ")
}

// proposal says values that are to be confirmed.
func (s *tongue) proposal(p map[string]float64) string {
	var parts []string
	for _, name := range sortedKeys(p) {
		parts = append(parts, s.reading(understand.Quantity(name), understand.Value{Low: p[name], High: p[name]}))
	}
	return strings.Join(parts, ", ")
}

// list joins names as people do: "a, b and c".
func (s *tongue) list(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:len(names)-1], ", ") + s.and + names[len(names)-1]
}

// span says a duration as people do, rounded up.
func (s *tongue) span(d time.Duration) string {
	minutes := int(math.Ceil(d.Minutes()))
	switch {
	case minutes <= 1:
		return "1 " + s.minute
	case minutes < 90:
		return strconv.Itoa(minutes) + " " + s.minutes
	}
	return s.hours[0] + number(math.Round(d.Hours()*2)/2) + s.hours[1]
}

// timeOf is a time of day; whole hours may go without their minutes.
func timeOf(minute int) (at time.Time, whole string) {
	at = time.Date(2000, 1, 1, minute/60, minute%60, 0, 0, time.UTC)
	if minute%60 == 0 {
		return at, at.Format("3 pm")
	}
	return at, at.Format("3:04 pm")
}
