package conversation

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// thursday is Thursday June 11, 2026, 9:20 in the morning.
var thursday = time.Date(2026, 6, 11, 9, 20, 0, 0, time.UTC)

func TestReadDayHour(t *testing.T) {
	for text, want := range map[string]string{
		"Saturday 10":                        "Jun 13 10:00",
		"SATURDAY 10":                        "Jun 13 10:00",
		"sat at 10am":                        "Jun 13 10:00",
		"move to Sunday":                     "Jun 14",
		"move it to sunday at 9:30 please":   "Jun 14 09:30",
		"next Monday at 2":                   "Jun 15 14:00",
		"friday afternoon":                   "Jun 12 14:00",
		"Saturday morning":                   "Jun 13 10:00",
		"tomorrow at noon":                   "Jun 12 12:00",
		"today 4 pm":                         "Jun 11 16:00",
		"thursday at 11":                     "Jun 11 11:00",
		"thursday at 9":                      "Jun 18 09:00",
		"Thursday":                           "Jun 18",
		"June 20":                            "Jun 20",
		"June 20th at 10:15 a.m.":            "Jun 20 10:15",
		"Saturday the 20th at 10":            "Jun 20 10:00",
		"Saturday June 20 10":                "Jun 20 10:00",
		"the 5th":                            "Jul 5",
		"6/20 at 10":                         "Jun 20 10:00",
		"20/6":                               "Jun 20",
		"in 2 weeks":                         "Jun 25",
		"next week":                          "Jun 18",
		"at 11":                              "11:00",
		"17:30":                              "17:30",
		"12 am saturday":                     "Jun 13 00:00",
		"el sábado a las 10":                 "Jun 13 10:00",
		"sabado 10":                          "Jun 13 10:00",
		"mejor el domingo":                   "Jun 14",
		"mañana a las 3 de la tarde":         "Jun 12 15:00",
		"el domingo a las 9 de la mañana":    "Jun 14 09:00",
		"el domingo en la mañana":            "Jun 14 10:00",
		"pasado mañana":                      "Jun 13",
		"20 de junio a las 10":               "Jun 20 10:00",
		"el sábado 20 de junio a las 10 am":  "Jun 20 10:00",
		"en dos semanas":                     "Jun 25",
		"cámbielo al lunes a las 5 p.m.":     "Jun 15 17:00",
		"el miércoles que viene al mediodía": "Jun 17 12:00",
	} {
		got, ok := readDayHour(text, thursday)
		require.True(t, ok, text)
		said := ""
		if !got.day.IsZero() {
			said = got.day.Format("Jan 2")
		}
		if got.minute >= 0 {
			if said != "" {
				said += " "
			}
			said += timeOfDay(got.minute)
		}
		require.Equal(t, want, said, text)
	}
}

func timeOfDay(minute int) string {
	return thursday.Truncate(24 * time.Hour).Add(time.Duration(minute) * time.Minute).Format("15:04")
}

func TestWhatNamesNoDay(t *testing.T) {
	for _, text := range []string{
		"", "yes", "flush my pipes", "3 7.4 100", "Saturday 10 people got a rash", "saturday sunday", "Monday June 20", "June 31", "25:00", "10 11",
		"STOP", "ph 7.2 saturday", "the foam came at 10", "stop on saturday", "6/20/2027 6/21", "saturday at 10 my son swallowed some",
	} {
		_, ok := readDayHour(text, thursday)
		require.False(t, ok, text)
	}
}

// FuzzDayHour: whatever is written, a day that is found is one to come within a year and a
// month, and an hour is one of a day.
func FuzzDayHour(f *testing.F) {
	for _, text := range []string{"Saturday 10", "el 20 de junio", "in 2 weeks", "6/20 at 10", "pasado mañana a las 9:30"} {
		f.Add(text, int64(0))
	}
	f.Fuzz(func(t *testing.T, text string, seconds int64) {
		now := thursday.Add(time.Duration(seconds%(400*86400)) * time.Second)
		got, ok := readDayHour(text, now)
		if !ok {
			return
		}
		require.GreaterOrEqual(t, got.minute, -1)
		require.Less(t, got.minute, 24*60)
		if !got.day.IsZero() {
			require.False(t, got.day.Before(now.Truncate(24*time.Hour)))
			require.True(t, got.day.Before(now.AddDate(2, 0, 0)))
		}
	})
}
