package conversation

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"time"

	"tubhand/internal/understand"
	"tubhand/internal/water"
)

// Chore is a kind of work that comes round on a tub.
type Chore string

// The chores.
const (
	ChoreTest    Chore = "test"
	ChoreRinse   Chore = "rinse"   // filters, with a hose
	ChoreFilters Chore = "filters" // a soak in filter cleaner
	ChoreFlush   Chore = "flush"
	ChoreRefill  Chore = "refill"
)

// DueChore is when a chore comes round.
type DueChore struct {
	Chore   Chore
	At      time.Time
	Planned bool // the owner has agreed on that time; else it is a day on which nobody waits
}

// How often a chore comes round. Our decisions, along what is common practice, no source:
// strips weekly, cartridges hosed weekly and soaked monthly, pipes every three to six months.
const (
	testEvery    = 7 * 24 * time.Hour
	filtersEvery = 30 * 24 * time.Hour
	rinseEvery   = 7 * 24 * time.Hour
)

// refillDays is common practice, no source: the water's gallons divided by three and by the people who
// bathe in a day are the days that it lasts (package tub names where it is a rule). Where nothing is known of bathers two
// are assumed; at most half a year.
func refillDays(facts *Tub) float64 {
	return min(water.ReplacementDays(facts.VolumeUSGal, or2f(facts.Bathers, usualBathers)), 180)
}

const usualBathers = 2

func or2f(x, usual float64) float64 {
	if x > 0 {
		return x
	}
	return usual
}

// flushEvery is how often the pipes are flushed: every three to six months by use is common practice,
// no source. Four where nothing is known of the use, else twice as long as the water lasts: our decision.
func flushEvery(facts *Tub) time.Duration {
	days := 120.0
	if facts.Bathers > 0 && facts.VolumeUSGal > 0 {
		days = min(max(2*refillDays(facts), 90), 180)
	}
	return time.Duration(math.Round(days)) * 24 * time.Hour
}

// DueChores tells when the chores of a conversation's tub come round, earliest first. It
// reckons from the tub's record alone: the last flush, the last test, the last change of water,
// and the agreed reminder of a flush where there is one. A tub that nothing is known of has none.
func DueChores(c *Conversation) []DueChore {
	var list []DueChore
	add := func(chore Chore, from time.Time, after time.Duration) {
		if !from.IsZero() {
			list = append(list, DueChore{Chore: chore, At: from.Add(after)})
		}
	}
	add(ChoreTest, lastTest(&c.Tub), testEvery)
	if p, ok := c.Consent.Seasonal["flush_plumbing"]; ok {
		list = append(list, DueChore{Chore: ChoreFlush, At: p.Due})
	} else {
		add(ChoreFlush, c.Tub.LastFlush, flushEvery(&c.Tub))
	}
	if at, ok := refillDue(&c.Tub); ok {
		list = append(list, DueChore{Chore: ChoreRefill, At: at})
	}
	cleaned := laterOf(laterOf(c.Tub.LastFlush, c.Tub.Changed), c.Tub.Done[ChoreFilters]) // a flush and fresh water clean them on the way
	add(ChoreRinse, cleaned, rinseEvery)
	add(ChoreFilters, cleaned, filtersEvery)
	for i := range list {
		if p, ok := c.Consent.Seasonal[plannedFor+string(list[i].Chore)]; ok {
			list[i].At, list[i].Planned = p.Due, true
		}
	}
	slices.SortStableFunc(list, func(a, b DueChore) int {
		return cmp.Or(a.At.Compare(b.At), strings.Compare(string(a.Chore), string(b.Chore)))
	})
	return list
}

// refillDue is when fresh water is due: by bathers or by what doses leave in the water, whichever is first.
func refillDue(facts *Tub) (at time.Time, ok bool) {
	if changed := laterOf(facts.Changed, facts.LastFlush); facts.VolumeUSGal > 0 && !changed.IsZero() {
		at, ok = changed.Add(time.Duration(math.Round(refillDays(facts)*24))*time.Hour), true
	}
	if worn, known := wornBy(facts); known && (!ok || worn.Before(at)) {
		return worn, true
	}
	return at, ok
}

func lastTest(tub *Tub) (at time.Time) {
	for _, q := range [...]understand.Quantity{understand.PH, understand.FreeChlorine, understand.Bromine, understand.TotalAlkalinity} {
		at = laterOf(at, tub.Readings[q].At)
	}
	return at
}

func laterOf(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}
