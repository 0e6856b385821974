package console

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/smstext"
	"tubhand/internal/understand"
)

func TestSpan(t *testing.T) {
	for d, want := range map[time.Duration]string{
		0: "under 1 min", 29 * time.Second: "under 1 min", time.Minute: "1 min", 59 * time.Minute: "59 min",
		time.Hour: "1 h", 190 * time.Minute: "3 h 10 min", 20 * time.Hour: "20 h", 50 * time.Hour: "2 days", 90 * 24 * time.Hour: "90 days",
	} {
		require.Equal(t, want, span(d))
	}
}

func TestValueWords(t *testing.T) {
	for want, v := range map[string]understand.Value{
		"7.4": {Low: 7.4, High: 7.4}, "3 to 5": {Low: 3, High: 5}, "over 10": {Low: 10, OpenHigh: true},
		"under 6.2": {High: 6.2, OpenLow: true}, "could not be read": {Unknown: true}, "0": {},
	} {
		require.Equal(t, want, valueWords(v))
	}
}

func TestShorten(t *testing.T) {
	require.Equal(t, "one two", shorten(" one\n two ", 10))
	require.Equal(t, "one two ...", shorten("one two three", 9))
	require.Equal(t, "ñññññ ...", shorten(strings.Repeat("ñ", 9), 5))
}

func TestGlancePrefersTheOwnersWords(t *testing.T) {
	require.Equal(t, `They wrote "it hums"`, glance(`375 gallons tub; power on; they wrote "it hums"`))
	require.Equal(t, "375 gallons tub", glance("375 gallons tub"))
}

func TestNumberWords(t *testing.T) {
	require.Equal(t, "(541) 555-0142", numberWords("+15415550142"))
	require.Equal(t, "+442079460000", numberWords("+442079460000"))
	require.Equal(t, "ada@tubs.example", numberWords("ada@tubs.example"))
}

// The counter in the browser gets its alphabet from the counter that counts.
func TestTheBrowserCountsInTheSameAlphabet(t *testing.T) {
	require.Equal(t, 127, len([]rune(gsmPlain)), "the alphabet without its escape")
	require.Equal(t, 10, len([]rune(gsmDouble)), "its extension")
	require.Equal(t, 127, smstext.Count(gsmPlain).Units)
	require.Equal(t, 20, smstext.Count(gsmDouble).Units)
}
