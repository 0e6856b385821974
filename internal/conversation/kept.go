package conversation

import (
	"math"
	"strings"
	"time"

	"tubhand/internal/understand"
	"tubhand/internal/water"
)

// keep remembers the readings that count now, for what a later test is held against:
// how much sanitizer a night cost, how much of the water is to be replaced.
func (t *turn) keep() {
	for q := range t.c.Tub.Readings {
		if m, ok := t.fresh(q); ok {
			put(&t.c.Service.Kept, q, m)
		}
	}
}

// lost is the part of the kept sanitizer, in percent, that a fresh test no longer finds.
// Numbers off a strip are taken for their middle; one with an open end tells nothing.
func (t *turn) lost() (percent float64, ok bool) {
	if t.c.Service == nil {
		return 0, false
	}
	before, kept := t.c.Service.Kept[t.sanitizerQuantity()]
	now, fresh := t.fresh(t.sanitizerQuantity())
	if !kept || !fresh || !now.At.After(before.At) || before.Value.OpenHigh || now.Value.OpenHigh {
		return 0, false
	}
	had, has := middle(before.Value), middle(now.Value)
	if had <= 0 {
		return 0, false
	}
	return math.Max(0, (had-has)/had*100), true
}

func middle(v understand.Value) float64 {
	low, high := bounds(v)
	return (low + high) / 2
}

// share is the part of the water to replace so that the kept cyanuric acid comes down to
// the upper end of what is aimed for, with fill water that has none; 0 where none was kept.
func (t *turn) share() float64 {
	if t.c.Service == nil {
		return 0
	}
	m, ok := t.c.Service.Kept[understand.CyanuricAcid]
	if !ok || m.Value.OpenHigh {
		return 0
	}
	bands := water.DefaultBands()
	if t.w.bands != nil {
		bands = *t.w.bands
	}
	return water.DrainFraction(m.Value.High, bands.CyanuricAcid.AimHigh, 0)
}

// shareWords says the share in percent, rounded up to fives, and in the owner's units.
func (t *turn) shareWords() (share, volume string) {
	part := math.Ceil(t.share()*20-1e-9) / 20
	if part <= 0 {
		return "", ""
	}
	return number(part*100) + " %", t.tongue().volume(t.c.Tub.VolumeUSGal*part, t.c.Owner.Metric)
}

// When an owner is asked for the test after a night, and how long a night has to be to
// tell something. Our decisions.
const (
	morningHour   = 8
	shortestNight = 8 * time.Hour
)

// overnight is the time to the next morning on the owner's clock that is a night away.
func (t *turn) overnight() time.Duration {
	from := t.now.Add(shortestNight).In(t.zone())
	morning := time.Date(from.Year(), from.Month(), from.Day(), morningHour, 0, 0, 0, from.Location())
	if morning.Before(from) {
		morning = time.Date(from.Year(), from.Month(), from.Day()+1, morningHour, 0, 0, 0, from.Location())
	}
	return t.decent(morning).Sub(t.now)
}

// running tells whether the tub can run in the state that the service is in: power on,
// water full, filters in.
func (t *turn) running() string {
	p := t.physical()
	if p.Power == "on" && p.Water == "full" && p.Filters == "in" {
		return "yes"
	}
	return "no"
}

// sanitizerWords names what a test of the sanitizer is to show: total chlorine too where
// combined chlorine was burnt off and has to be measured anew.
func (t *turn) sanitizerWords() string {
	names := []string{t.tongue().name(t.sanitizerQuantity())}
	if t.burntOff() {
		names = append(names, t.tongue().name(understand.TotalChlorine))
	}
	return strings.Join(names, ", ")
}

// like is a good test as an owner would text it, in the order that it is asked for.
func (t *turn) like() string {
	switch {
	case t.burntOff():
		return "4 4 7.4 100 101"
	case t.sanitizerQuantity() == understand.Bromine:
		return "5 7.4 100 101"
	}
	return "4 7.4 100 101"
}

func (t *turn) burntOff() bool {
	return t.combinedPending() && t.sanitizerQuantity() == understand.FreeChlorine
}
