package console

import (
	"maps"
	"math"
	"slices"
	"strings"

	"tubhand/internal/conversation"
	"tubhand/internal/understand"
)

// readingView is the last value of one quantity.
type readingView struct {
	Name, Value, Unit string
	At                moment
}

// entryView is a line of the tub's log.
type entryView struct {
	ID   string
	At   moment
	Kind string
	Text string
}

func (c *Console) tubFacts(t *conversation.Tub) []pair {
	volume := "not known: nothing is dosed"
	if t.VolumeUSGal > 0 {
		volume = gallons(t.VolumeUSGal) + " US gal" + told(t.VolumeBy)
	}
	facts := []pair{{"Volume", volume}}
	add := func(name, value string) {
		if value != "" {
			facts = append(facts, pair{name, value})
		}
	}
	measured := func(name string, x float64, unit string) {
		if x > 0 {
			add(name, number(x)+" "+unit)
		}
	}
	add("Sanitizer", plain(t.Sanitizer))
	measured("Heater", t.HeaterKW, "kW")
	measured("Hose", t.HoseGPM, "gal/min")
	measured("Pump", t.PumpGPH, "gal/h")
	add("Last flush", c.moment(t.LastFlush).Short)
	add("Last addition", c.moment(t.LastAddition).Short)
	for _, product := range slices.Sorted(maps.Keys(t.JarSpoons)) {
		add("Left of "+product, number(t.JarSpoons[product])+" level tsp")
	}
	return facts
}

// gallons says a volume no finer than anyone knows it.
func gallons(x float64) string {
	if x >= 20 {
		x = math.Round(x)
	}
	return number(x)
}

func told(by string) string {
	switch by {
	case "owner":
		return ", as the owner says"
	case "dimensions":
		return ", from its dimensions"
	case "staff":
		return ", set by staff"
	}
	return ""
}

func (c *Console) ownerFacts(conv *conversation.Conversation) []pair {
	o := &conv.Owner
	var facts []pair
	add := func(name, value string) {
		if value != "" {
			facts = append(facts, pair{name, value})
		}
	}
	for _, a := range o.Addresses {
		if a != conv.ID {
			add("Also at", numberWords(a))
		}
	}
	add("Language", languageWords(o.Language))
	add("Time zone", o.TimeZone)
	if o.Metric {
		add("Units", "litres and Celsius")
	}
	add("Last heard", c.moment(conv.LastIn).Short)
	return facts
}

func (c *Console) serviceFacts(s *conversation.Service) []pair {
	facts := []pair{{"Started", c.moment(s.Started).Short}}
	for _, name := range slices.Sorted(maps.Keys(s.Facts)) {
		facts = append(facts, pair{plain(name), plain(s.Facts[name])})
	}
	for _, name := range slices.Sorted(maps.Keys(s.Advised)) {
		facts = append(facts, pair{"Advised", doseWords(s.Advised[name])})
	}
	for _, name := range slices.Sorted(maps.Keys(s.Added)) {
		d := s.Added[name]
		facts = append(facts, pair{"Added", doseWords(d) + ", " + c.moment(d.At).Short})
	}
	return facts
}

func doseWords(d conversation.Dose) string {
	if d.Product == "" {
		return d.Measure + " of " + plain(d.Name)
	}
	return d.Measure + " of " + d.Product
}

func (c *Console) readings(t *conversation.Tub) []readingView {
	var out []readingView
	for _, q := range slices.SortedFunc(maps.Keys(t.Readings), byUse) {
		m := t.Readings[q]
		name, unit := quantityWords(q)
		if m.Value.Unknown {
			unit = ""
		}
		out = append(out, readingView{Name: name, Value: valueWords(m.Value), Unit: unit, At: c.moment(m.At)})
	}
	return out
}

// byUse orders readings as the trade asks for them: sanitizer, pH, alkalinity, the rest.
func byUse(a, b understand.Quantity) int {
	order := []understand.Quantity{
		understand.FreeChlorine, understand.Bromine, understand.CombinedChlorine, understand.TotalChlorine,
		understand.PH, understand.TotalAlkalinity, understand.CalciumHardness, understand.CyanuricAcid, understand.WaterTemp,
	}
	place := func(q understand.Quantity) int {
		if i := slices.Index(order, q); i >= 0 {
			return i
		}
		return len(order)
	}
	if d := place(a) - place(b); d != 0 {
		return d
	}
	if a < b {
		return -1
	}
	return 1
}

// entries shows what was measured and added, the newest first. Which states a service
// went through is in the log too, but the transcript tells that better.
func (c *Console) entries(log []conversation.LogEntry) []entryView {
	out := make([]entryView, 0, len(log))
	for i := len(log) - 1; i >= 0; i-- {
		e := &log[i]
		if e.Kind == "state" {
			continue
		}
		text := e.Text
		if text == "" {
			text = entryWords(e)
		}
		out = append(out, entryView{ID: e.ID, At: c.moment(e.At), Kind: e.Kind, Text: text})
	}
	return out
}

func entryWords(e *conversation.LogEntry) string {
	if e.Dose != nil {
		return doseWords(*e.Dose)
	}
	name, unit := quantityWords(understand.Quantity(e.Name))
	return strings.TrimSpace(name + " " + valueWords(understand.Value{Low: e.Low, High: e.High}) + " " + unit)
}
