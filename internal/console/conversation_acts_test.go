package console_test

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
	"tubhand/internal/staff"
	"tubhand/internal/understand"
)

func TestActsOnATubAndItsTimers(t *testing.T) {
	d := newDesk(t)
	d.putAda()
	sent := d.clock.Now().Add(-time.Hour).Format(time.RFC3339Nano)
	for i, c := range []struct {
		form []string
		want conversation.StaffAction
	}{
		{[]string{"act", "set_fact", "fact", "volume_us_gal", "value", "400", "reason", "the plate"},
			conversation.StaffAction{Act: "set_fact", Fact: "volume_us_gal", Value: "400", Reason: "the plate"}},
		{[]string{"act", "correct", "sent", sent, "ph", "7.4", "free_chlorine_ppm", " 3 - 5 ", "cyanuric_acid_ppm", ">100", "reason", "photo"},
			conversation.StaffAction{Act: "correct", Reason: "photo", At: d.clock.Now().Add(-time.Hour), Readings: conversation.Readings{
				understand.PH: {Low: 7.4, High: 7.4}, understand.FreeChlorine: {Low: 3, High: 5}, understand.CyanuricAcid: {Low: 100, High: 100, OpenHigh: true}}}},
		{[]string{"act", "move_timer", "reminder", "r1", "at", "2026-06-13T10:50"},
			conversation.StaffAction{Act: "move_timer", Reminder: "r1", At: time.Date(2026, 6, 13, 17, 50, 0, 0, time.UTC)}},
		{[]string{"act", "fire_timer", "reminder", "r1"}, conversation.StaffAction{Act: "fire_timer", Reminder: "r1"}},
		{[]string{"act", "pause", "reason", "she phoned"}, conversation.StaffAction{Act: "pause", Reason: "she phoned"}},
		{[]string{"act", "speak", "value", "es"}, conversation.StaffAction{Act: "speak", Value: "es"}},
	} {
		f := form(c.form...)
		f.Set("token", token+fmt.Sprint(i))
		status, page, _ := d.post("/staff/act", f)
		require.Equal(t, http.StatusSeeOther, status, words(page))
		c.want.By, c.want.Name = "dana", "Dana"
		got := d.clerk.events()[i].Staff
		got.At = got.At.UTC()
		require.Equal(t, c.want, got)
	}
}

func TestActsThatCannotBeSayWhy(t *testing.T) {
	d := newDesk(t)
	d.putAda()
	for name, c := range map[string]struct {
		form []string
		says string
	}{
		"no reason":         {[]string{"act", "set_fact", "fact", "volume_us_gal", "value", "400"}, "Say in a few words why"},
		"no number":         {[]string{"act", "set_fact", "fact", "volume_us_gal", "value", "big", "reason", "x"}, "a number from 50 to 2500"},
		"no fact":           {[]string{"act", "set_fact", "fact", "colour", "value", "1", "reason", "x"}, "no fact of a tub"},
		"no text":           {[]string{"act", "correct", "ph", "7.4"}, "which text"},
		"no value":          {[]string{"act", "correct", "sent", "2026-06-13T17:00:00Z"}, "at least one value"},
		"no reading":        {[]string{"act", "correct", "sent", "2026-06-13T17:00:00Z", "ph", "74"}, "pH can&#39;t be &#34;74&#34;"},
		"odd reading":       {[]string{"act", "correct", "sent", "2026-06-13T17:00:00Z", "ph", "1e1"}, "can&#39;t be"},
		"crossed":           {[]string{"act", "correct", "sent", "2026-06-13T17:00:00Z", "free_chlorine_ppm", "5-3"}, "can&#39;t be"},
		"no time":           {[]string{"act", "move_timer", "reminder", "r1", "at", "soon"}, "That is no time"},
		"guarded":           {[]string{"act", "move_timer", "reminder", "r1", "at", "2026-06-13T14:00"}, "take the conversation first"},
		"guarded, canceled": {[]string{"act", "drop_timer", "reminder", "r1"}, "take the conversation first"},
		"not pending":       {[]string{"act", "drop_timer", "reminder", "r9"}, "not pending any more"},
		"no language":       {[]string{"act", "speak", "value", "tlh"}, "no texts in that language"},
	} {
		t.Run(name, func(t *testing.T) {
			status, page, _ := d.post("/staff/act", form(c.form...))
			require.Equal(t, http.StatusUnprocessableEntity, status)
			require.Contains(t, page, c.says)
		})
	}
	require.Empty(t, d.clerk.events())
}

// TestAChangedReplyUnderAUsedNumber: the first words went out, the others did not, and
// whoever wrote them is told.
func TestAChangedReplyUnderAUsedNumber(t *testing.T) {
	d := newDesk(t)
	d.putAda()
	status, _, _ := d.post("/staff/act", form("act", "reply", "text", "Jets off."))
	require.Equal(t, http.StatusSeeOther, status)
	status, page, _ := d.post("/staff/act", form("act", "reply", "text", "Jets off, please."))
	require.Equal(t, http.StatusConflict, status)
	require.Contains(t, page, "went out after all")
	_, page, _ = d.get(ada)
	require.NotContains(t, page, "Jets off, please.")
}

func TestAViewerSeesAndCannotAct(t *testing.T) {
	w := newGuarded(t)
	w.putAda()
	w.as("fernhollow", w.account("fernhollow", "vera", "Vera", staff.Viewer))
	_, page, _ := w.get("/staff/fernhollow/conversation?with=%2B15415550142")
	require.Contains(t, page, "Ada Lindqvist")
	require.NotContains(t, page, `action="/staff/fernhollow/act"`)

	w.as("fernhollow", w.account("fernhollow", "zoe", "Zoe", staff.Member))
	f := form("act", "set_fact", "fact", "volume_us_gal", "value", "400", "reason", "the plate")
	status, _, _ := w.post("/staff/fernhollow/act", f)
	require.Equal(t, http.StatusSeeOther, status)
	trail, err := w.desks["fernhollow"].Trail(context.Background(), 0, 10)
	require.NoError(t, err)
	require.Equal(t, "zoe", trail[0].Who)
	require.Equal(t, "set a fact of the tub", trail[0].Act)
	require.Contains(t, trail[0].Detail, "volume_us_gal 400 the plate")
}

func TestWhatWasNotKeptIsReadAgain(t *testing.T) {
	d := newDesk(t)
	now := d.clock.Now()
	d.put(conversation.Conversation{ID: "+15415550142"}, conversation.Effects{
		Lines: []conversation.Line{{ID: "l1", Conversation: "+15415550142", At: now, Direction: conversation.In, Text: "ph 7.4"}, {ID: "l2", Conversation: "+15415550142", At: now, Direction: conversation.In, Text: "thanks", Understood: "thanks"}},
		Log:   []conversation.LogEntry{{ID: "e1", Conversation: "+15415550142", At: now, Kind: "reading", Name: "ph", Low: 7.4, High: 7.4}},
	})
	_, page, _ := d.get(ada)
	text := words(page)
	require.Contains(t, text, "read again, without what was asked then: answer, pH 7.4")
	require.Contains(t, text, "Correct the test")
	require.Contains(t, page, `name="ph" value="7.4"`)
	require.Contains(t, text, "thanks understood: thanks")
}

// BenchmarkConversationPage is a page as full as it gets: README says what it takes.
func BenchmarkConversationPage(b *testing.B) {
	d := newDesk(b)
	c := d.putAda()
	c.Version, c.Service.Advised = 1, map[string]conversation.Dose{"balance": {Name: "balance", Product: "pH Down", Chemical: "sodium_bisulfate", Grams: 5, Measure: "1 level teaspoon", At: d.clock.Now()}}
	var fx conversation.Effects
	for i := range 400 {
		at := d.clock.Now().Add(time.Duration(i-400) * time.Minute)
		if i < 300 {
			fx.Lines = append(fx.Lines, conversation.Line{ID: fmt.Sprint("b", i), Conversation: c.ID, At: at, Direction: conversation.In, Text: strings.Repeat("3 7.4 100 ", 3)})
		}
		fx.Log = append(fx.Log, conversation.LogEntry{ID: fmt.Sprint("g", i), Conversation: c.ID, At: at, Kind: "reading", Name: []string{"ph", "free_chlorine_ppm", "total_alkalinity_ppm"}[i%3], Low: 7.4, High: 7.4})
	}
	for i := range 16 {
		c.Tub.Past = append(c.Tub.Past, conversation.Past{At: d.clock.Now().Add(time.Duration(i-16) * time.Hour), Read: conversation.Readings{
			understand.PH: {Low: 7.4, High: 7.6}, understand.FreeChlorine: {Low: 3, High: 5}, understand.TotalAlkalinity: {Low: 80, High: 120}}})
	}
	d.put(c, fx)
	b.ReportAllocs()
	for b.Loop() {
		status, _, _ := d.get(ada)
		require.Equal(b, http.StatusOK, status)
	}
}
