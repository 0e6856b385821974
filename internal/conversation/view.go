package conversation

import (
	"slices"
	"time"

	"tubhand/internal/safety"
	"tubhand/internal/understand"
)

// How long a reading counts, and how long an addition must mix before a test means
// anything. Our decisions: no source states them for a tub.
const (
	readingCounts = 2 * time.Hour
	mixes         = 15 * time.Minute
)

// view is what the guards of a flow can see.
type view struct{ t *turn }

// Number gives a value that was measured and is fresh.
func (v view) Number(name string) (float64, bool) {
	t := v.t
	switch name {
	case "volume_gal":
		return t.c.Tub.VolumeUSGal, t.c.Tub.VolumeUSGal > 0
	case "rounds":
		n := 0
		if t.c.Service != nil {
			n = t.c.Service.Rounds
		}
		return float64(n), true
	case "sanitizer_lost_percent":
		return t.lost()
	case "sanitizer_ppm":
		name = string(t.sanitizerQuantity())
	}
	m, ok := t.fresh(understand.Quantity(name))
	if !ok || m.Value.OpenLow || m.Value.OpenHigh {
		return 0, false
	}
	return (m.Value.Low + m.Value.High) / 2, true
}

// Fact gives what the flow has learned and what follows from it.
func (v view) Fact(name string) (string, bool) {
	t := v.t
	switch name {
	case "band":
		return t.judge().Band.String(), true
	case "plan":
		return t.plan().kind, true
	case "sanitizer":
		return t.c.Tub.Sanitizer, t.c.Tub.Sanitizer != ""
	case "product":
		return t.physical().Product, t.c.Service != nil
	case "flush_product":
		return t.flushProduct(), true
	case "running":
		return t.running(), t.c.Service != nil
	}
	if t.c.Service == nil {
		return "", false
	}
	value, ok := t.c.Service.Facts[name]
	return value, ok
}

// flushProduct tells whether flush product was advised or has gone in during this run.
func (t *turn) flushProduct() string {
	s := t.c.Service
	switch {
	case s == nil:
		return "none"
	case s.Added[flushDose].Name != "":
		return "in"
	case s.Advised[flushDose].Name != "":
		return "advised"
	}
	return "none"
}

// fresh gives a reading that counts: taken lately, of this water, after the last
// addition had mixed.
func (t *turn) fresh(q understand.Quantity) (Measured, bool) {
	m, ok := t.c.Tub.Readings[q]
	if !ok || m.Value.Unknown || t.now.Sub(m.At) > readingCounts {
		return Measured{}, false
	}
	if !m.At.After(t.c.Tub.Changed) {
		return Measured{}, false
	}
	if last := t.c.Tub.LastAddition; !last.IsZero() && m.At.Before(last.Add(mixes)) {
		return Measured{}, false
	}
	return m, true
}

// judge puts the fresh readings into bands. Combined chlorine that was treated must be
// measured anew before anyone soaks.
func (t *turn) judge() safety.Verdict {
	v := t.w.limits.Judge(t.measured(), t.c.Tub.Sanitizer)
	if t.combinedPending() && v.Band == safety.Soak {
		v.Band, v.Missing = safety.Unmeasured, append(v.Missing, safety.CombinedChlorine)
	}
	return v
}

// combinedPending tells whether combined chlorine was treated and not measured since.
func (t *turn) combinedPending() bool {
	_, pending := t.c.Tub.Aimed[understand.CombinedChlorine]
	return pending
}

// fitToSoak tells whether the fresh readings allow soaking; Soak takes a temperature too.
func (t *turn) fitToSoak() bool { return t.judge().Band == safety.Soak }

func (t *turn) measured() safety.Measured {
	m := safety.Measured{Values: map[string]safety.Range{}}
	for q := range t.c.Tub.Readings {
		if r, ok := t.fresh(q); ok {
			low, high := bounds(r.Value)
			m.Values[string(q)] = safety.Range{Low: low, High: high}
		}
	}
	if m.Ill = t.ill(); t.cloudy() {
		m.Clear = safety.Cloudy
	}
	for q, n := range t.c.Tub.Tried {
		if m.Tried == nil {
			m.Tried = map[string]int{}
		}
		m.Tried[string(q)] = n
	}
	return m
}

func (t *turn) sanitizer() string {
	if t.c.Tub.Sanitizer == "" {
		return "chlorine"
	}
	return t.c.Tub.Sanitizer
}

func (t *turn) sanitizerQuantity() understand.Quantity {
	if t.c.Tub.Sanitizer == "bromine" {
		return understand.Bromine
	}
	return understand.FreeChlorine
}

// quantities turns what a flow asks for into what the tub's sanitizer makes of it.
func (t *turn) quantities(names []string) []understand.Quantity {
	out := make([]understand.Quantity, len(names))
	for i, name := range names {
		out[i] = understand.Quantity(name)
		if name == "sanitizer" {
			out[i] = t.sanitizerQuantity()
		}
	}
	if t.combinedPending() && slices.Contains(out, understand.FreeChlorine) && !slices.Contains(out, understand.TotalChlorine) {
		out = slices.Insert(out, slices.Index(out, understand.FreeChlorine)+1, understand.TotalChlorine)
	}
	return out
}
