package conversation

import (
	"math"
	"time"

	"tubhand/internal/safety"
	"tubhand/internal/tub"
	"tubhand/internal/understand"
)

// A tub smaller or larger than this is asked about again: common practice, no source.
const (
	smallestUSGal = 50
	largestUSGal  = 2500
)

// tellVolume takes a tub's volume. Of a range the lower end is used, so that a dose is
// never too large.
func (t *turn) tellVolume(m understand.Meaning) bool {
	if m.Volume == nil || m.Volume.Unknown {
		return false
	}
	gallons := m.Volume.LowUSGal
	asked := t.c.Asked.Kind == understand.AskedVolume || t.c.Asked.Was == understand.AskedVolume
	if tub.CheckVolume(gallons) != nil || gallons < smallestUSGal || gallons > largestUSGal {
		if asked {
			t.say("clarify")
		}
		return asked
	}
	before := t.c.Tub.VolumeUSGal
	t.c.Tub.VolumeUSGal, t.c.Tub.VolumeBy = gallons, "owner"
	if m.Volume.Dimensions != nil {
		t.c.Tub.VolumeBy = "dimensions"
	}
	t.log(LogEntry{Kind: "volume", Name: "volume_gal", Low: gallons, High: m.Volume.HighUSGal, Text: english.volume(gallons, false)})
	signal := "volume"
	if !asked {
		signal = "volume_changed"
		if before > 0 && math.Abs(gallons-before) <= before/50 {
			return len(m.Readings) == 0 && m.Intent == understand.Answer && t.noted(t.tongue().volume(gallons, t.c.Owner.Metric))
		}
	}
	if t.signal(signal) {
		return true
	}
	if t.c.Service == nil && m.Intent == understand.StartService {
		return false // "flush my 375 gallon tub"
	}
	return t.noted(t.tongue().volume(gallons, t.c.Owner.Metric))
}

// signal offers one signal to the running flow.
func (t *turn) signal(name string) bool {
	f, s, ok := t.flow()
	if !ok {
		return false
	}
	tr, ok := f.Match(s, []string{name}, view{t})
	if !ok {
		return false
	}
	t.unask()
	t.apply(tr)
	return true
}

func (t *turn) noted(what string) bool {
	words := t.words()
	words.Reading = what
	t.unask()
	t.sayWith("noted", words)
	return true
}

// tellReadings takes what a strip showed, puts it in the log and acts on it.
func (t *turn) tellReadings(m understand.Meaning) bool {
	known := told(m.Readings)
	if len(known) == 0 {
		return false
	}
	if t.now.Before(t.c.Tub.LastAddition.Add(mixes)) {
		words := t.words()
		words.Until = t.when(t.c.Tub.LastAddition.Add(mixes))
		t.sayWith("too_soon", words)
		return true
	}
	if o, ok := t.oddOnes(known); ok {
		t.doubt(o, known)
		return true
	}
	t.c.Doubts = 0
	t.record(known)
	if t.signal("readings") {
		return true
	}
	if v := t.judge(); v.Band == safety.Person {
		t.handOver("unsafe_reading", safety.PersonSoon, true)
		t.c.Hold.Told = true
		t.sayWith("water_trouble", t.words())
		return true
	}
	if m.Intent != understand.Answer {
		return false // they said more than numbers
	}
	if t.c.Service == nil && t.cloudy() {
		words := t.words()
		words.Reading = t.tongue().readings(known)
		t.sayWith("noted.cloudy", words)
		return true
	}
	return t.noted(t.tongue().readings(known))
}

// told leaves out what could not be read.
func told(r Readings) Readings {
	known := Readings{}
	for q, v := range r {
		if !v.Unknown {
			known[q] = v
		}
	}
	return known
}

// record keeps readings, and the combined chlorine that follows from free and total.
func (t *turn) record(known Readings) {
	derive(known)
	t.remember(Past{Read: known})
	if t.c.Service != nil {
		t.c.Tub.Cloudy = time.Time{} // the service looks again before anyone gets in
	}
	for _, q := range ordered(known) {
		v := known[q]
		if q == understand.WaterTemp {
			t.cools(v)
		}
		t.helped(q, v)
		put(&t.c.Tub.Readings, q, Measured{Value: v, At: t.now})
		t.logReading(q, v, t.now)
	}
}

// derive adds the combined chlorine that follows from free and total.
func derive(known Readings) {
	free, hasFree := known[understand.FreeChlorine]
	total, hasTotal := known[understand.TotalChlorine]
	if hasFree && hasTotal && !free.OpenHigh && !total.OpenHigh {
		known[understand.CombinedChlorine] = understand.Value{
			Low: math.Max(0, total.Low-free.High), High: math.Max(0, total.High-free.Low),
		}
	}
}

// logReading adds a reading to the tub's log, as of when it was taken.
func (t *turn) logReading(q understand.Quantity, v understand.Value, at time.Time) {
	low, high := bounds(v)
	if math.IsInf(high, 1) {
		high = 0 // open: the text says so
	}
	t.log(LogEntry{Kind: "reading", Name: string(q), Low: math.Max(0, low), High: high, Text: english.reading(q, v)})
	t.fx.Log[len(t.fx.Log)-1].At = at
}

// log adds an entry to the tub's log.
func (t *turn) log(e LogEntry) {
	e.ID, e.Conversation, e.At = t.id(), t.c.ID, t.now
	t.fx.Log = append(t.fx.Log, e)
}

// missing names what a state still needs to be told.
func (t *turn) missing() string {
	_, s, ok := t.flow()
	if !ok {
		return ""
	}
	var names []string
	for _, q := range t.quantities(s.Ask.Readings) {
		if _, ok := t.fresh(q); !ok {
			names = append(names, t.tongue().name(q))
		}
	}
	return t.tongue().list(names)
}
