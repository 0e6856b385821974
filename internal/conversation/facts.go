package conversation

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"tubhand/internal/flow"
)

// factsMost is how many doses a case tells, the newest ones.
const factsMost = 3

// facts is what a person needs to know before they pick up the phone, in plain words:
// the tub, what was read and added last, where the owner is, who is on call, and what
// the owner wrote.
func (t *turn) facts() string {
	parts := []string{t.tubFacts()}
	parts = append(parts, t.placeFacts()...)
	parts = append(parts, t.toldFacts()...)
	if read := t.readFacts(); read != "" {
		parts = append(parts, "Last read: "+read)
	} else {
		parts = append(parts, "Nothing read yet")
	}
	if now := t.expected(); now != "" {
		parts = append(parts, "By the log they should be by now: "+now)
	}
	parts = append(parts, t.doseFacts()...)
	if t.ill() {
		parts = append(parts, "Somebody fell ill after soaking, told "+t.clock(t.c.Tub.Ill))
	}
	if t.cloudy() {
		parts = append(parts, "The water was cloudy at "+t.clock(t.c.Tub.Cloudy))
	}
	parts = append(parts, "On call: "+t.onCallNames())
	if t.ev.Kind == TextIn {
		parts = append(parts, fmt.Sprintf("At %s they wrote %q", t.clock(t.now), shorten(t.ev.Text, 120)))
	}
	return strings.Join(parts, ". ")
}

func (t *turn) tubFacts() string {
	tub := t.c.Tub
	text := "Tub size not known"
	if tub.VolumeUSGal > 0 {
		text = english.volume(tub.VolumeUSGal, false) + " tub"
		if by := volumeBy(tub.VolumeBy); by != "" {
			text += " (" + by + ")"
		}
	}
	if tub.Sanitizer != "" {
		return text + ", kept with " + tub.Sanitizer
	}
	return text + ", sanitizer not known"
}

func volumeBy(by string) string {
	switch by {
	case "owner":
		return "by the owner"
	case "dimensions":
		return "worked out from its measures"
	case "staff":
		return "entered by staff"
	}
	return ""
}

// placeFacts says where the service stands and what state the tub is in there.
func (t *turn) placeFacts() []string {
	f, s, ok := t.flow()
	if !ok {
		return []string{"No service running"}
	}
	service := t.c.Service
	where := fmt.Sprintf("%s, %s since %s", f.Title, stepPlain(s.Step, s.Name), t.clock(service.Since))
	if service.Caller != nil {
		if outer, ok := t.w.flows.Flow(service.Caller.Flow); ok {
			where += fmt.Sprintf(", in the middle of the %s (%s)", strings.ToLower(outer.Title), spaced(service.Caller.State))
		}
	}
	if f.Kind == flow.TroubleKind && service.Caller == nil {
		return []string{where} // what the tub is in, nobody has said
	}
	p := t.physical()
	product := "no flush product in it"
	if p.Product == "in" {
		product = "FLUSH PRODUCT IN THE WATER"
	}
	power := "power " + p.Power
	if p.Power == "on" && p.Water != "full" {
		power = "POWER ON OVER LOW WATER"
	}
	return []string{where, fmt.Sprintf("By now: %s, water %s, filters %s, %s", power, waterPlain(p.Water), filtersPlain(p.Filters), product)}
}

// stepPlain names a place in a service as people say it; the state's own name tells it
// apart from others of the same step.
func stepPlain(step, state string) string {
	words := map[string]string{
		"begin": "getting ready", "add_product": "adding product", "soak": "product running through the lines", "wipe": "wiping the ring off",
		"drain": "draining", "blow_out": "blowing out the lines", "rinse": "draining the rest and rinsing", "filters": "seeing to the filters",
		"refill": "refilling", "heat": "starting up and heating", "retest": "testing the water", "jets_high": "jets on high",
	}[step]
	if words == "" {
		return "at the step \"" + spaced(state) + "\""
	}
	return words + " (step \"" + spaced(state) + "\")"
}

func spaced(name string) string { return strings.ReplaceAll(name, "_", " ") }

func waterPlain(water string) string {
	if water == "below_jets" {
		return "below the jets"
	}
	return spaced(water)
}

func filtersPlain(filters string) string {
	switch filters {
	case "in":
		return "in place"
	case "out":
		return "out of their wells"
	}
	return spaced(filters)
}

// readFacts are the last readings, those of one test together.
func (t *turn) readFacts() string {
	var tests []string
	var at time.Time
	for _, q := range orderedMeasured(t.c.Tub.Readings) {
		m := t.c.Tub.Readings[q]
		if len(tests) > 0 && !m.At.Equal(at) {
			tests[len(tests)-1] += " at " + t.clock(at)
		}
		at = m.At
		tests = append(tests, english.reading(q, m.Value))
	}
	if len(tests) == 0 {
		return ""
	}
	tests[len(tests)-1] += " at " + t.clock(at)
	return strings.Join(tests, ", ")
}

// doseFacts are the last doses that went in, and what was advised and not confirmed.
func (t *turn) doseFacts() []string {
	s := t.c.Service
	if s == nil {
		return nil
	}
	var parts []string
	in := newest(s.Added)
	for _, d := range in[:min(len(in), factsMost)] {
		parts = append(parts, fmt.Sprintf("Went in at %s: %s of %s", t.clock(d.At), d.Measure, d.Product))
	}
	if len(in) == 0 {
		parts = append(parts, "Nothing has gone in")
	}
	for _, d := range newest(s.Advised) {
		parts = append(parts, fmt.Sprintf("Advised at %s and not confirmed: %s of %s", t.clock(d.At), d.Measure, d.Product))
	}
	return parts
}

// newest lists doses, the latest first.
func newest(doses map[string]Dose) []Dose {
	var all []Dose
	for _, name := range sortedKeys(doses) {
		all = append(all, doses[name])
	}
	slices.SortStableFunc(all, func(a, b Dose) int { return b.At.Compare(a.At) })
	return all
}

// onCallNames names who is on duty, in the order in which they are called.
func (t *turn) onCallNames() string {
	var names []string
	for _, who := range t.w.shop.OnCall {
		if t.onDuty(who) {
			names = append(names, t.w.shop.StaffName(who.Key))
		}
	}
	if len(names) == 0 {
		return "nobody right now"
	}
	return strings.Join(names, ", then ")
}

// shorten cuts a text at a rune, for display.
func shorten(text string, most int) string {
	runes := []rune(text)
	if len(runes) <= most {
		return text
	}
	return string(runes[:most]) + "..."
}
