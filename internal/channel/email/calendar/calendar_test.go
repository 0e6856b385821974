package calendar_test

import (
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tubhand/internal/channel/email/calendar"
)

func TestAWait(t *testing.T) {
	got := string(calendar.Write(calendar.Wait{
		UID: "a.1@fernhollow.example", Organizer: "hello@fernhollow.example", Title: "Fernhollow: next step; at your tub",
		About: "Jets off.\nThen wipe, at once.", At: time.Date(2026, 6, 13, 9, 42, 0, 0, time.FixedZone("", -7*3600)), Made: time.Date(2026, 6, 13, 16, 12, 0, 0, time.UTC),
	}))
	require.Equal(t, strings.ReplaceAll(`BEGIN:VCALENDAR
VERSION:2.0
PRODID:-//tubhand//waits//EN
METHOD:PUBLISH
BEGIN:VEVENT
UID:a.1@fernhollow.example
DTSTAMP:20260613T161200Z
SEQUENCE:0
DTSTART:20260613T164200Z
DURATION:PT15M
ORGANIZER:mailto:hello@fernhollow.example
SUMMARY:Fernhollow: next step\; at your tub
DESCRIPTION:Jets off.\nThen wipe\, at once.
TRANSP:TRANSPARENT
BEGIN:VALARM
ACTION:DISPLAY
TRIGGER:PT0M
DESCRIPTION:Fernhollow: next step\; at your tub
END:VALARM
END:VEVENT
END:VCALENDAR
`, "\n", "\r\n"), got)
}

// TestLinesAreFolded: RFC 5545, 3.1: 75 octets at most, no character split, and unfolding
// gives the value back.
func TestLinesAreFolded(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		about := rapid.String().Draw(t, "about")
		got := string(calendar.Write(calendar.Wait{UID: "u", Title: "t", About: about}))
		require.True(t, utf8.ValidString(got))
		for line := range strings.SplitSeq(strings.TrimSuffix(got, "\r\n"), "\r\n") {
			require.LessOrEqual(t, len(line), 75)
			require.True(t, utf8.ValidString(line))
			require.NotContains(t, line, "\n")
		}
		unfolded := strings.ReplaceAll(got, "\r\n ", "")
		require.Equal(t, 21, strings.Count(unfolded, "\r\n"), "nothing that was written becomes a property")
	})
}
