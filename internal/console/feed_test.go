package console_test

import (
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
	"tubhand/internal/staff"
)

// putDue stores owners with something that comes round.
func putDue(w *guarded) {
	w.Helper()
	const day = 24 * time.Hour
	flushed := w.clock.Now().Add(-60 * day)
	w.put(conversation.Conversation{
		ID: "+15415550150", Owner: conversation.Owner{Name: "Ada; Lindqvist, " + strings.Repeat("é", 60), Addresses: []string{"+15415550150"}},
		Tub: conversation.Tub{LastFlush: flushed, VolumeUSGal: 375},
		Consent: conversation.Consent{Seasonal: map[string]conversation.Pending{
			"flush_plumbing": {ID: "a", Due: w.clock.Now().Add(60 * day)},
			"planned/refill": {ID: "b", Due: time.Date(2026, 6, 20, 17, 0, 0, 0, time.UTC)},
		}},
	}, conversation.Effects{})
	w.put(conversation.Conversation{ID: "+15415550151", Tub: conversation.Tub{LastFlush: flushed}}, conversation.Effects{})
	w.put(conversation.Conversation{ID: "+15415550152", OptedOut: true, Owner: conversation.Owner{Name: "Out Quiet"}, Tub: conversation.Tub{LastFlush: flushed}}, conversation.Effects{})
}

var feedAddress = regexp.MustCompile(`value="http://localhost:\d+(/staff/fernhollow/feed/[A-Z2-7]{26}\.ics)"`)

func TestTheFeed(t *testing.T) {
	w := newGuarded(t)
	putDue(w)
	manager := w.account("fernhollow", "dana", "Dana", staff.Manager)
	w.as("fernhollow", manager)
	_, page, _ := w.get("/staff/fernhollow/feed")
	require.Contains(t, page, "There is no feed.")
	first := makeFeed(w)

	w.fresh() // a calendar program has no session
	status, body, header := w.get(first)
	require.Equal(t, http.StatusOK, status)
	require.Equal(t, "text/calendar; charset=utf-8", header.Get("Content-Type"))
	require.Equal(t, "no-store", header.Get("Cache-Control"))
	whole := strings.ReplaceAll(body, "\r\n ", "")
	require.True(t, strings.HasPrefix(whole, "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:"))
	require.True(t, strings.HasSuffix(whole, "END:VEVENT\r\nEND:VCALENDAR\r\n"))
	require.Contains(t, whole, `SUMMARY:Refill (agreed): Ada\; Lindqvist\, é`)
	require.Contains(t, whole, "DTSTART:20260620T170000Z\r\nDURATION:PT1H", "what was agreed on has its hour")
	require.Contains(t, whole, "SUMMARY:Flush due: owner ending in 0151\r\nTRANSP:TRANSPARENT\r\nDTSTART;VALUE=DATE:2026")
	require.NotContains(t, whole, "Out Quiet")
	require.NotContains(t, whole, "5550151", "no numbers")
	require.NotContains(t, whole, "Rinse")
	for line := range strings.SplitSeq(strings.TrimSuffix(body, "\r\n"), "\r\n") {
		require.LessOrEqual(t, len(line), 75, "RFC 5545, 3.1")
		require.True(t, utf8.ValidString(line))
	}

	w.as("fernhollow", manager)
	second := makeFeed(w)
	require.NotEqual(t, first, second)
	w.fresh()
	for _, path := range []string{first, "/staff/fernhollow/feed/AAAAAAAAAAAAAAAAAAAAAAAAAA.ics", "/staff/fernhollow/feed/x", strings.Replace(second, "fernhollow", "lakeside", 1), strings.ToLower(second)} {
		status, _, _ = w.get(path)
		require.Equal(t, http.StatusNotFound, status, path)
	}
	status, _, _ = w.get(second)
	require.Equal(t, http.StatusOK, status)

	w.as("fernhollow", manager)
	_, page, _ = w.get("/staff/fernhollow/feed")
	require.Contains(t, page, "made by Dana")
	require.NotContains(t, page, second[strings.LastIndex(second, "/"):], "the address is shown once")
	status, _ = w.postFeed("end")
	require.Equal(t, http.StatusSeeOther, status)
	status, _, _ = w.get(second)
	require.Equal(t, http.StatusNotFound, status)
	_, page, _ = w.get("/staff/fernhollow/log")
	require.Contains(t, page, "made a calendar feed")
	require.Contains(t, page, "ended the calendar feed")
}

func makeFeed(w *guarded) string {
	w.Helper()
	status, page := w.postFeed("new")
	require.Equal(w, http.StatusOK, status)
	found := feedAddress.FindStringSubmatch(page)
	require.NotNil(w, found, page)
	return found[1]
}

func (w *guarded) postFeed(what string) (int, string) {
	w.Helper()
	answer, err := w.browser.PostForm(w.server.URL+"/staff/fernhollow/feed/"+what, url.Values{})
	require.NoError(w, err)
	status, page, _ := read(w, answer)
	return status, page
}
