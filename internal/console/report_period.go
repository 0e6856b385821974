package console

import (
	"fmt"
	"time"
)

// period is the days that a report is about, both ends among them.
type period struct {
	From, Until time.Time // midnights of the shop's clock
	Days        int       // 7, 30 or 90; 0 where both ends were chosen
}

// longestPeriod is the most days that a report may be about.
const longestPeriod = 2 * 366

// readPeriod reads what was asked for: so many days up to today, or from a day to a day.
// Trouble says in words what is wrong with it.
func readPeriod(days, from, until string, now time.Time) (p period, trouble string) {
	today := time.Date(now.Year(), now.Month(), now.Day(), 0, 0, 0, 0, now.Location())
	if from != "" || until != "" {
		var wrongFrom, wrongUntil error
		p.From, wrongFrom = time.ParseInLocation(time.DateOnly, from, now.Location())
		p.Until, wrongUntil = time.ParseInLocation(time.DateOnly, until, now.Location())
		switch {
		case wrongFrom != nil || wrongUntil != nil:
			return p, "Give both days, like 2026-06-13."
		case p.Until.Before(p.From):
			return p, "The first day comes after the last."
		case p.length() > longestPeriod:
			return p, "That is more than two years. Choose a shorter time."
		}
		return p, ""
	}
	switch days {
	case "", "30":
		p.Days = 30
	case "7":
		p.Days = 7
	case "90":
		p.Days = 90
	default:
		return p, "Choose 7, 30 or 90 days."
	}
	p.From, p.Until = today.AddDate(0, 0, 1-p.Days), today
	return p, ""
}

// length is how many days there are.
func (p period) length() int { return int(p.Until.Sub(p.From).Round(24*time.Hour)/(24*time.Hour)) + 1 }

// first and last are the ends as tallies name days.
func (p period) first() string { return p.From.Format(time.DateOnly) }
func (p period) last() string  { return p.Until.Format(time.DateOnly) }

// holds tells whether a time lies in the period.
func (p period) holds(t time.Time) bool {
	return !t.Before(p.From) && t.Before(p.Until.AddDate(0, 0, 1))
}

// words are the period as people say it.
func (p period) words() string {
	if p.Days > 0 {
		return fmt.Sprintf("The last %d days, %s to %s", p.Days, p.From.Format("Jan 2"), p.Until.Format("Jan 2, 2006"))
	}
	return p.From.Format("Jan 2, 2006") + " to " + p.Until.Format("Jan 2, 2006")
}

// query is the period in an address.
func (p period) query() string {
	if p.Days > 0 {
		return fmt.Sprintf("days=%d", p.Days)
	}
	return "from=" + p.first() + "&until=" + p.last()
}
