package console_test

import (
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
)

const token = "AAAABBBBCCCCDDDD"

func form(pairs ...string) url.Values {
	v := url.Values{"conversation": {"+15415550142"}, "token": {token}}
	for i := 0; i+1 < len(pairs); i += 2 {
		v.Set(pairs[i], pairs[i+1])
	}
	return v
}

func (d *desk) putCase() {
	d.Helper()
	c := soaking("+15415550142", "Ada Lindqvist", d.clock.Now())
	c.Open = []conversation.Handover{handover("h1", c.ID, "leak", "technician", d.clock.Now())}
	d.put(c, conversation.Effects{})
}

func TestClaimReplyClose(t *testing.T) {
	d := newDesk(t)
	d.putCase()
	_, page, _ := d.get(ada)
	require.Contains(t, words(page), "Technician Leak open under 1 min, nobody has it")

	// Each form is sent just as the page holds it.
	for _, step := range []struct{ form, name, text, then string }{
		{"claim-h1", "", "", "Dana has it since 10:40 am"},
		{"reply-form", "text", "Dana here. Is it the pump?", "Dana 10:40 am waiting to go out Dana here. Is it the pump?"},
		{"note-h1", "text", "she turns it off at night", "Dana she turns it off at night"},
		{"end-h1", "text", "tightened the union", "Soaking"},
	} {
		fields := fieldsOf(t, page, step.form)
		if step.name != "" {
			fields.Set(step.name, step.text)
		}
		if step.form == "end-h1" {
			fields.Set("act", "close")
		}
		status, _, header := d.post("/staff/act", fields)
		require.Equal(t, http.StatusSeeOther, status)
		require.Equal(t, ada, header.Get("Location"))
		_, page, _ = d.get(ada)
		require.Contains(t, words(page), step.then)
	}
	require.NotContains(t, page, "case-h1", "the case is closed")

	events := d.clerk.events()
	require.Len(t, events, 4)
	for _, ev := range events {
		require.Equal(t, conversation.StaffAct, ev.Kind)
		require.Equal(t, "dana", ev.Staff.By)
		require.Equal(t, "+15415550142", ev.From)
		require.Equal(t, "plain", ev.Gateway)
	}
	require.Equal(t, "h1", events[0].Staff.Handover)
}

// fieldsOf reads the hidden fields of a form, as a browser would send them.
func fieldsOf(t testing.TB, page, id string) url.Values {
	t.Helper()
	_, rest, ok := strings.Cut(page, `<form id="`+id+`"`)
	require.True(t, ok, "no form %q", id)
	body, _, _ := strings.Cut(rest, "</form>")
	fields := url.Values{}
	for _, m := range regexp.MustCompile(`<input type="hidden" name="(\w+)"[^>]*? value="([^"]*)"`).FindAllStringSubmatch(body, -1) {
		fields.Set(m[1], strings.ReplaceAll(m[2], "&#43;", "+"))
	}
	return fields
}

func TestADoubleClickActsOnce(t *testing.T) {
	d := newDesk(t)
	d.putAda()
	for range 2 {
		status, _, _ := d.post("/staff/act", form("act", "reply", "text", "Dana here."))
		require.Equal(t, http.StatusSeeOther, status)
	}
	_, page, _ := d.get(ada)
	require.Len(t, everywhere(page, "Dana here."), 1)

	status, _, _ := d.post("/staff/act", form("act", "reply", "text", "Dana again.", "token", token+"2"))
	require.Equal(t, http.StatusSeeOther, status)
	_, page, _ = d.get(ada)
	require.Contains(t, page, "Dana again.", "another form acts again")
}

func TestWhatCannotBeDoneSaysWhy(t *testing.T) {
	d := newDesk(t)
	d.putCase()
	before := len(d.clerk.events())
	for name, c := range map[string]struct {
		form   url.Values
		status int
		says   string
	}{
		"no token":        {form("act", "claim", "token", ""), 422, "Reload the page"},
		"odd token":       {form("act", "claim", "token", "a b c d e f g h i j"), 422, "Reload the page"},
		"no words":        {form("act", "reply", "text", " \n "), 422, "no text to send"},
		"too many words":  {form("act", "reply", "text", strings.Repeat("a", 901)), 422, "901 characters long; at most 900 fit"},
		"broken UTF-8":    {form("act", "reply", "text", "a\xff"), 422, "broken characters"},
		"close, no words": {form("act", "close", "handover", "h1"), 422, "how it ended"},
		"empty note":      {form("act", "note", "handover", "h1"), 422, "nothing written down"},
		"no such step":    {form("act", "hand_back", "state", "moon"), 422, "no such step"},
		"no such service": {form("act", "start", "flow", "moon"), 422, "no service of that name"},
		"no such act":     {form("act", "explode"), 422, "cannot do"},
		"nobody":          {form("act", "claim", "conversation", "+15415550199"), 404, "no conversation with that number"},
		"huge":            {form("act", "reply", "text", strings.Repeat("a", 40<<10)), 422, "too long"},
	} {
		t.Run(name, func(t *testing.T) {
			status, page, _ := d.post("/staff/act", c.form)
			require.Equal(t, c.status, status)
			require.Contains(t, page, c.says)
			require.Contains(t, page, "data-problem", "the script finds the sentence")
		})
	}
	require.Len(t, d.clerk.events(), before, "nothing of it became an event")
}

func TestHandBackAndStart(t *testing.T) {
	d := newDesk(t)
	d.putCase()
	for i, f := range []url.Values{
		form("act", "hand_back", "handover", "h1", "text", "all good", "state", "wipe"),
		form("act", "hand_back", "state", ""),
		form("act", "start", "flow", "flush_plumbing"),
	} {
		f.Set("token", token+strings.Repeat("x", i))
		status, _, _ := d.post("/staff/act", f)
		require.Equal(t, http.StatusSeeOther, status)
	}
	events := d.clerk.events()
	require.Equal(t, conversation.StaffAction{Act: "hand_back", By: "dana", Name: "Dana", Handover: "h1", Text: "all good", State: "wipe"}, events[0].Staff)
	require.Equal(t, "flush_plumbing", events[2].Staff.Flow)
}

func TestWhoIsWorking(t *testing.T) {
	d := newDesk(t)
	d.putAda()
	status, _, header := d.post("/staff/who", url.Values{"who": {"luis"}, "back": {ada}})
	require.Equal(t, http.StatusSeeOther, status)
	require.Equal(t, ada, header.Get("Location"))
	_, page, _ := d.get(ada)
	require.Contains(t, page, "Reply as Luis")
	_, _, _ = d.post("/staff/act", form("act", "reply", "text", "Luis here."))
	require.Equal(t, "luis", d.clerk.events()[0].Staff.By)

	status, page, _ = d.post("/staff/who", url.Values{"who": {"mallory"}})
	require.Equal(t, http.StatusUnprocessableEntity, status)
	require.Contains(t, page, "Nobody of that name")
}

func FuzzBackStaysOnTheConsole(f *testing.F) {
	for _, seed := range []string{"/staff/", "//evil.example/", "https://evil.example", "/staff/../..//evil.example", "/staff/\\evil", "/staff/\r\nX: y", ada} {
		f.Add(seed)
	}
	d := newDesk(f)
	f.Fuzz(func(t *testing.T, back string) {
		here := *d
		here.TB = t
		_, _, header := here.post("/staff/who", url.Values{"who": {"luis"}, "back": {back}})
		to, err := url.Parse(header.Get("Location"))
		require.NoError(t, err)
		require.Empty(t, to.Host)
		require.Empty(t, to.Scheme)
		require.True(t, strings.HasPrefix(to.Path, "/staff/"), "%q", header.Get("Location"))
	})
}
