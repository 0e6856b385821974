package console_test

import (
	"encoding/csv"
	"encoding/xml"
	"errors"
	"io"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
)

// busyMonth counts some weeks of a shop, and puts cases that waited.
func busyMonth(d *desk) {
	d.put(conversation.Conversation{ID: "+15415550142"}, conversation.Effects{Tally: []conversation.Tally{
		{Day: "2026-06-01", Kind: conversation.TallyStarted, Key: "flush_plumbing", N: 31},
		{Day: "2026-06-01", Kind: conversation.TallyFinished, Key: "flush_plumbing/soak_ok", N: 23},
		{Day: "2026-06-01", Kind: conversation.TallyFinished, Key: "flush_plumbing/not_today", N: 2},
		{Day: "2026-06-01", Kind: conversation.TallyLeft, Key: "flush_plumbing/refill", N: 4},
		{Day: "2026-06-01", Kind: conversation.TallyLeft, Key: "flush_plumbing/wipe", N: 1},
		{Day: "2026-06-01", Kind: conversation.TallyHandover, Key: "error_code", N: 5},
		{Day: "2026-06-01", Kind: conversation.TallyClosed, Key: "error_code", N: 2, Sum: 7200},
		{Day: "2026-06-01", Kind: conversation.TallyProduct, Key: "Fernhollow Line Rinse", N: 23, Sum: 4 * 92},
		{Day: "2026-06-01", Kind: conversation.TallyProduct, Key: "=cmd|' /C calc'!A0", N: 1, Sum: 4},
		{Day: "2026-06-01", Kind: conversation.TallyReading, Key: "ph", N: 80},
		{Day: "2026-06-01", Kind: conversation.TallyOutOfBand, Key: "ph/high", N: 9},
		{Day: "2026-06-01", Kind: conversation.TallyOutOfBand, Key: "ph/low", N: 3},
	}})
	// What comes on another day is another turn.
	d.put(conversation.Conversation{ID: "+15415550143"}, conversation.Effects{Tally: []conversation.Tally{
		{Day: "2026-02-01", Kind: conversation.TallyStarted, Key: "shock", N: 1},
	}})
	opened := morning.Add(-48 * time.Hour)
	d.put(conversation.Conversation{ID: "+15415550144", Open: []conversation.Handover{
		{ID: "h1", Shop: "fernhollow", Conversation: "+15415550144", Cause: "error_code", Severity: "technician", Opened: opened, Claimed: opened.Add(3 * time.Minute), By: "dana"},
		{ID: "h2", Shop: "fernhollow", Conversation: "+15415550144", Cause: "error_code", Severity: "technician", Opened: opened, Claimed: opened.Add(6 * time.Minute), By: "dana"},
		{ID: "h3", Shop: "fernhollow", Conversation: "+15415550144", Cause: "no_heat", Severity: "person_soon", Opened: opened, Claimed: opened.Add(2 * time.Hour), By: "dana"},
		{ID: "h4", Shop: "fernhollow", Conversation: "+15415550144", Cause: "no_heat", Severity: "person_soon", Opened: opened},
		{ID: "h5", Shop: "fernhollow", Conversation: "+15415550144", Cause: "no_heat", Severity: "person_soon", Opened: opened.AddDate(0, -3, 0)},
	}}, conversation.Effects{})
}

func TestReportsSayWhatHappened(t *testing.T) {
	d := newDesk(t)
	busyMonth(d)
	_, page, _ := d.get("/staff/reports")
	text := words(page)
	for _, want := range []string{
		"The last 30 days, May 15 to Jun 13, 2026",
		"23 of 30 services that ended were finished; 2 were put off and 5 were left before the end.", "31 services were started.",
		"Of 30 services of the kind plumbing flush that ended, 4 were left at the step refill",
		"5 cases for a person were opened.", "The most frequent cause is error code, with 5 of 5.",
		"Half of 3 cases were taken within 6 min, nine of ten within 2 h; the longest waited 2 h.", "1 case was never taken by anyone, or not yet.",
		"To reorder: 6 jars of Fernhollow Line Rinse.",
		"12 of 80 readings were out of band: 3 too low, 9 too high.", "pH is out most often, in 15 of 100 tests.",
	} {
		require.Contains(t, text, want)
	}
	_, page, _ = d.get("/staff/reports?from=2026-01-01&until=2026-03-01")
	require.Contains(t, words(page), "No service ended in this time. 1 service was started.")
	require.Contains(t, words(page), "Nothing was counted in this time.")
	_, page, _ = d.get("/staff/reports?from=2025-06-14&until=2026-06-13")
	require.Contains(t, words(page), "most in a week: 31")
}

// Every drawing has a title, a description and a table that says the same.
func TestChartsAreDrawnForEverybody(t *testing.T) {
	d := newDesk(t)
	busyMonth(d)
	_, page, _ := d.get("/staff/reports?days=90")
	charts := regexp.MustCompile(`(?s)<svg class="chart".*?</svg>`).FindAllString(page, -1)
	require.Len(t, charts, 8)
	for _, c := range charts {
		require.Regexp(t, `aria-labelledby="([a-z-]+)-title ([a-z-]+)-about"`, c)
		require.Regexp(t, `<desc id="[a-z-]+">[^<]+</desc>`, c)
		reader := xml.NewDecoder(strings.NewReader(c))
		for {
			if _, err := reader.Token(); errors.Is(err, io.EOF) {
				break
			} else {
				require.NoError(t, err, c)
			}
		}
	}
	require.Equal(t, 6, strings.Count(page, "The figures as a table"))
	require.NotContains(t, page, "style=", "the policy forbids styles in a page")
}

func TestReportsAsCSVHoldNoFormula(t *testing.T) {
	d := newDesk(t)
	busyMonth(d)
	for _, of := range []string{"services", "left", "handovers", "response", "products", "readings"} {
		status, body, header := d.get("/staff/reports/csv?of=" + of + "&days=30")
		require.Equal(t, http.StatusOK, status, of)
		require.Equal(t, "text/csv; charset=utf-8", header.Get("Content-Type"))
		require.Equal(t, `attachment; filename="fernhollow-`+of+`-2026-05-15-to-2026-06-13.csv"`, header.Get("Content-Disposition"))
		rows, err := csv.NewReader(strings.NewReader(body)).ReadAll()
		require.NoError(t, err)
		require.Greater(t, len(rows), 1, of)
		for _, row := range rows {
			for _, cell := range row {
				require.NotRegexp(t, `^[=+\-@]`, cell)
			}
		}
		if of == "products" {
			require.Contains(t, rows, []string{"Fernhollow Line Rinse", "23", "92", "16", "5.8", "6"})
			require.Equal(t, "'=cmd|' /C calc'!A0", rows[2][0])
		}
	}
}

func TestPeriodsThatAreNone(t *testing.T) {
	d := newDesk(t)
	for query, want := range map[string]string{
		"days=31": "7, 30 or 90", "from=2026-06-01": "both days", "from=2026-06-02&until=2026-06-01": "after the last",
		"from=2020-01-01&until=2026-01-01": "two years", "from=x&until=y": "both days",
	} {
		status, page, _ := d.get("/staff/reports?" + query)
		require.Equal(t, http.StatusBadRequest, status, query)
		require.Contains(t, page, want)
	}
	status, _, _ := d.get("/staff/reports/csv?of=nothing")
	require.Equal(t, http.StatusNotFound, status)
	_, page, _ := d.get("/staff/reports?days=7")
	require.Equal(t, 6, strings.Count(page, "Nothing was counted"))
}
