package console

import (
	"fmt"
	"time"
)

// moment is a time as people at the shop read it, and as machines do.
type moment struct {
	At    string // RFC 3339
	Short string // "9:42 am", with the day when it is not today
	Clock string // "9:42 am"
	Day   string // "Sat Jun 13"
	Ago   string // "12 min ago", "in 18 min"
}

// moment shows t in the shop's time zone; the zero time gives the zero moment.
func (c *Console) moment(t time.Time) moment {
	if t.IsZero() {
		return moment{}
	}
	now, at := c.Clock.Now().In(c.zone), t.In(c.zone)
	m := moment{At: at.Format(time.RFC3339), Clock: at.Format("3:04 pm"), Day: at.Format("Mon Jan 2"), Ago: ago(now, at)}
	switch {
	case sameDay(now, at):
		m.Short = m.Clock
	case at.Year() == now.Year():
		m.Short = m.Day + ", " + m.Clock
	default:
		m.Day = at.Format("Jan 2, 2006")
		m.Short = m.Day
	}
	return m
}

func ago(now, at time.Time) string {
	if at.After(now) {
		return "in " + span(at.Sub(now))
	}
	if now.Sub(at) < time.Minute {
		return "just now"
	}
	return span(now.Sub(at)) + " ago"
}

// span words a duration with the one unit that matters: "18 min", "3 h 10 min", "2 days".
func span(d time.Duration) string {
	minutes := int(d.Round(time.Minute) / time.Minute)
	switch {
	case minutes < 1:
		return "under 1 min"
	case minutes < 60:
		return fmt.Sprintf("%d min", minutes)
	case minutes < 10*60 && minutes%60 != 0:
		return fmt.Sprintf("%d h %d min", minutes/60, minutes%60)
	case minutes < 36*60:
		return fmt.Sprintf("%d h", minutes/60)
	}
	return fmt.Sprintf("%d days", int((d+12*time.Hour)/(24*time.Hour)))
}

func sameDay(a, b time.Time) bool {
	return a.Year() == b.Year() && a.YearDay() == b.YearDay()
}
