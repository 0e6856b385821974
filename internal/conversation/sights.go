package conversation

import (
	"slices"
	"time"

	"tubhand/internal/flow"
	"tubhand/internal/safety"
	"tubhand/internal/understand"
)

// What owners see of the water and feel after it, beside what a strip shows.

// illnessCounts is how long somebody who fell ill after soaking stands against the
// water where no person of the shop has said otherwise: what comes from a tub shows up
// to 14 days later (CDC, Legionella: symptoms begin 2 to 14 days after exposure).
const illnessCounts = 14 * 24 * time.Hour

// see takes what a text tells of the water and of those who were in it, whatever else
// it is about.
func (t *turn) see(m understand.Meaning) {
	if m.Intent == understand.CloudyWater || m.Intent == understand.GreenWater {
		t.c.Tub.Cloudy = t.now
	}
	if m.Hazard == safety.InfectionSymptoms {
		t.c.Tub.Ill = t.now
	}
}

// look takes the answer to the question whether the water is clear.
func (t *turn) look(s *flow.State, signals []string) {
	switch {
	case !s.Clarity:
	case slices.Contains(signals, string(understand.No)):
		t.c.Tub.Cloudy = t.now
	case signals[0] == string(understand.Yes):
		t.c.Tub.Cloudy = time.Time{}
	}
}

// cloudy tells whether the last look at the water found it cloudy, and lately.
func (t *turn) cloudy() bool {
	return !t.c.Tub.Cloudy.IsZero() && t.now.Sub(t.c.Tub.Cloudy) <= readingCounts
}

// ill tells whether somebody fell ill after soaking and no person of the shop has
// settled it.
func (t *turn) ill() bool {
	return !t.c.Tub.Ill.IsZero() && t.now.Sub(t.c.Tub.Ill) <= illnessCounts
}

// tooHot makes a hazard of a water temperature that is a person's, whatever else the
// text was taken for: who texts 108 F may be about to get in.
func (t *turn) tooHot(m *understand.Meaning) {
	limit, ok := t.w.limits.Of(safety.WaterTemp)
	v, told := m.Readings[understand.WaterTemp]
	if !ok || !told || v.Unknown || m.Severity.Rank() >= safety.PersonSoon.Rank() {
		return
	}
	if v.Low > limit.Fix.High || v.Low == limit.Fix.High && v.OpenHigh {
		m.Hazard, m.Severity = safety.Overheating, safety.PersonSoon
	}
}

// coolsFor is how long water that is too hot gets to come down with the set point
// lowered, before it counts as not coming down. Our decision.
const coolsFor = time.Hour

// cools counts that water which was too hot did not come down.
func (t *turn) cools(v understand.Value) {
	limit, _ := t.w.limits.Of(safety.WaterTemp)
	before, ok := t.c.Tub.Readings[understand.WaterTemp]
	_, now := bounds(v)
	_, was := bounds(before.Value)
	switch {
	case now <= limit.Soak.High:
		delete(t.c.Tub.Tried, understand.WaterTemp)
	case !ok || before.Value.Unknown || was <= limit.Soak.High || t.now.Sub(before.At) < coolsFor || t.now.Sub(before.At) > readingCounts:
	case now >= was:
		put(&t.c.Tub.Tried, understand.WaterTemp, t.c.Tub.Tried[understand.WaterTemp]+1)
	}
}
