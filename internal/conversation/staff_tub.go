package conversation

import (
	"math"
	"strconv"
	"strings"
	"time"

	"tubhand/internal/tub"
	"tubhand/internal/understand"
)

// The facts of a tub that staff can set, as StaffAction.Fact names them.
const (
	FactVolume    = "volume_us_gal"
	FactSanitizer = "sanitizer"
	FactHeater    = "heater_kw"
	FactHose      = "hose_gpm"
	FactPump      = "pump_gph"
	FactBathers   = "bathers_a_day"
	FactJar       = "jar_teaspoons" // what is left of the flush product, in level teaspoons
)

// CheckFact tells what is wrong with the value of a tub's fact, in a sentence for who
// entered it; "" where it can be. Bounds are common practice, no source: what is outside is
// a slip of the keyboard.
func CheckFact(fact, value string) string {
	if fact == FactSanitizer {
		if value == "chlorine" || value == "bromine" {
			return ""
		}
		return "The sanitizer is chlorine or bromine."
	}
	bounds, known := map[string][2]float64{
		FactVolume: {smallestUSGal, largestUSGal}, FactHeater: {0.5, 30}, FactHose: {0.5, 40}, FactPump: {50, 20000}, FactBathers: {0.1, 50}, FactJar: {0, 500},
	}[fact]
	if !known {
		return "That is no fact of a tub."
	}
	x, err := strconv.ParseFloat(value, 64)
	if err != nil || math.IsNaN(x) || x < bounds[0] || x > bounds[1] {
		return "It has to be a number from " + number(bounds[0]) + " to " + number(bounds[1]) + "."
	}
	return ""
}

// setFact changes a fact of the tub for a reason that stands in the transcript.
func (t *turn) setFact(a StaffAction) {
	if wrong := CheckFact(a.Fact, a.Value); wrong != "" || strings.TrimSpace(a.Reason) == "" {
		t.acted(a, "wanted to set %s to %q; nothing was changed", spaced(a.Fact), a.Value)
		return
	}
	x, _ := strconv.ParseFloat(a.Value, 64)
	facts := &t.c.Tub
	switch a.Fact {
	case FactVolume:
		t.setVolume(a, x)
	case FactSanitizer:
		t.setSanitizer(a)
	case FactHeater:
		t.setRate(a, &facts.HeaterKW, x, "heater", "kW")
	case FactHose:
		t.setRate(a, &facts.HoseGPM, x, "hose", "gal/min")
	case FactPump:
		t.setRate(a, &facts.PumpGPH, x, "pump", "gal/h")
	case FactBathers:
		t.setRate(a, &facts.Bathers, x, "bathers", "a day")
	case FactJar:
		t.setJar(x)
		t.acted(a, "set what is left of %s to %s level teaspoons%s", t.w.shop.Flush.Name, number(x), because(a.Reason))
	}
}

// setVolume voids doses worked out for another volume, as an owner's correction does.
func (t *turn) setVolume(a StaffAction, gallons float64) {
	if tub.CheckVolume(gallons) != nil {
		return
	}
	was := "not known"
	if t.c.Tub.VolumeUSGal > 0 {
		was = english.volume(t.c.Tub.VolumeUSGal, false)
	}
	t.acted(a, "set the volume to %s (was %s)%s", english.volume(gallons, false), was, because(a.Reason))
	t.c.Tub.VolumeUSGal, t.c.Tub.VolumeBy = gallons, "staff"
	t.log(LogEntry{Kind: "volume", Name: "volume_gal", Low: gallons, High: gallons, Text: english.volume(gallons, false)})
	stale := func(d Dose) bool { return math.Abs(d.USGal-gallons) > gallons/1000 }
	if t.c.Service == nil {
		return
	}
	if t.c.Hold != nil || t.c.OptedOut {
		t.voidDoses(stale)
		return
	}
	signal := "volume_changed"
	if t.c.Asked.Kind == understand.AskedVolume {
		signal = "volume"
	}
	if !t.signal(signal) {
		t.sayVolume()
	}
	if t.c.Service != nil && t.voidDoses(stale) {
		t.doseAnew()
	}
	t.retime()
}

func (t *turn) sayVolume() {
	words := t.words()
	words.Reading = words.Volume
	t.sayWith("noted", words)
}

// setSanitizer takes back what was worked out for the other one.
func (t *turn) setSanitizer(a StaffAction) {
	was := or2(t.c.Tub.Sanitizer, "not known")
	t.acted(a, "set the sanitizer to %s (was %s)%s", a.Value, was, because(a.Reason))
	if t.c.Tub.Sanitizer == a.Value {
		return
	}
	t.c.Tub.Sanitizer = a.Value
	voided := t.voidDoses(func(d Dose) bool { return d.Chemical != "" || d.Name != flushDose })
	if t.c.Hold != nil || t.c.OptedOut {
		return
	}
	if voided {
		t.doseAnew()
		return
	}
	t.passOn()
}

// passOn leaves a step that only asked for what is known now.
func (t *turn) passOn() {
	f, s, ok := t.flow()
	if !ok {
		return
	}
	if next, _ := f.Enter(s.Name, view{t}); next != nil && next.Name != s.Name {
		t.enter(s.Name)
	}
}

func or2(text, usual string) string {
	if text == "" {
		return usual
	}
	return text
}

// setRate sets what only waits are worked out from, and moves those that are running.
func (t *turn) setRate(a StaffAction, to *float64, x float64, name, unit string) {
	was := "not known"
	if *to > 0 {
		was = number(*to) + " " + unit
	}
	t.acted(a, "set the %s to %s %s (was %s)%s", name, number(x), unit, was, because(a.Reason))
	*to = x
	t.retime()
}

// retime moves the running waits whose length follows from the tub.
func (t *turn) retime() {
	_, s, ok := t.flow()
	if !ok {
		return
	}
	service := t.c.Service
	for _, timer := range s.Timers {
		key := timerKey(service.Flow, s.Name, timer.Name)
		p, running := service.Timers[key]
		if _, err := time.ParseDuration(timer.After); err == nil || !running || timer.After == "overnight" {
			continue
		}
		from := service.Since
		if stamp, ok := service.Stamps[timer.From]; timer.From != "" && ok {
			from = stamp
		}
		due := from.Add(t.duration(timer.After))
		if due.Before(t.now) {
			due = t.now
		}
		if !due.Equal(p.Due) {
			t.remind(key, due)
			t.alive = true
			t.note("The wait " + spaced(timer.Name) + " now ends " + t.clock(due))
		}
	}
}
