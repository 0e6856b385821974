package conversation

import (
	"strconv"
	"time"
)

// day says a date: "Saturday June 20", "el sabado 20 de junio".
func (s *tongue) day(at time.Time) string {
	if s == &spanish {
		months := [...]string{"enero", "febrero", "marzo", "abril", "mayo", "junio", "julio", "agosto", "septiembre", "octubre", "noviembre", "diciembre"}
		return spanishDay(2, at.Weekday()) + " " + strconv.Itoa(at.Day()) + " de " + months[at.Month()-1]
	}
	return at.Format("Monday January 2")
}

// dayAndHour says a date with a time of day: "Saturday June 20 at 10 am".
func (s *tongue) dayAndHour(at time.Time) string {
	minute := at.Hour()*60 + at.Minute()
	if s == &spanish {
		return s.day(at) + " a " + spanishHour(minute)
	}
	_, hour := timeOf(minute)
	return s.day(at) + " at " + hour
}
