package conversation

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"time"

	"tubhand/internal/understand"
)

// Chore is a kind of work that comes round on a tub.
type Chore string

// The chores.
const (
	ChoreTest    Chore = "test"
	ChoreFilters Chore = "filters"
	ChoreFlush   Chore = "flush"
	ChoreRefill  Chore = "refill"
)

// DueChore is when a chore comes round.
type DueChore struct {
	Chore Chore
	At    time.Time
}

// How often a chore comes round. Our decisions, along what is common practice, no source:
// strips weekly, cartridges hosed monthly, pipes every three to six months.
const (
	testEvery    = 7 * 24 * time.Hour
	filtersEvery = 30 * 24 * time.Hour
)

// refillDays is common practice, no source: the water's gallons divided by three and by the people who
// bathe in a day are the days that it lasts. Of bathers nothing is known, so two are assumed; at most
// half a year.
func refillDays(usGal float64) float64 { return min(usGal/3/usualBathers, 180) }

const usualBathers = 2

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
		add(ChoreFlush, c.Tub.LastFlush, seasons["flush_plumbing"])
	}
	if water := laterOf(c.Tub.Changed, c.Tub.LastFlush); c.Tub.VolumeUSGal > 0 {
		add(ChoreRefill, water, time.Duration(math.Round(refillDays(c.Tub.VolumeUSGal)*24))*time.Hour)
	}
	add(ChoreFilters, laterOf(c.Tub.LastFlush, c.Tub.Changed), filtersEvery) // both clean them on the way
	slices.SortStableFunc(list, func(a, b DueChore) int {
		return cmp.Or(a.At.Compare(b.At), strings.Compare(string(a.Chore), string(b.Chore)))
	})
	return list
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
