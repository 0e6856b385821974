package demo_test

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/demo"
)

const (
	ada     = "+15415550142"
	june    = "+15415550144"
	newborn = "+15415550150"
	token   = "AAAABBBBCCCCDDDD"
)

// Each history ends where the demo says that its owner stands, whatever the flows and
// the understanding have become.
func TestOwnersStandWhereTheDemoSays(t *testing.T) {
	b := newBench(t)
	require.Equal(t, demo.Opening(b.zone), b.clock.Now().In(b.zone))

	require.Equal(t, "soak", b.conversation(ada).Service.State)
	walt := b.conversation("+15415550143")
	require.Equal(t, "drain", walt.Service.State)
	require.Equal(t, 1, walt.Service.Nudged, "asked once, and quiet")
	require.Empty(t, walt.Open)
	waiting := b.conversation(june)
	require.Len(t, waiting.Open, 1)
	require.Equal(t, "unsafe_reading", waiting.Open[0].Cause)
	require.Empty(t, waiting.Open[0].By)
	marisol := b.conversation("+15415550145")
	require.Nil(t, marisol.Service)
	require.Empty(t, marisol.Open)
	require.Equal(t, time.March, marisol.Tub.LastFlush.In(b.zone).Month())
	require.Equal(t, "heating", b.conversation("+15415550146").Service.State)
	hank := b.conversation("+15415550147")
	require.Empty(t, hank.Open)
	require.Nil(t, hank.Hold)
	for _, owner := range demo.Owners(b.zone) {
		require.Zero(t, b.conversation(owner.Address).Misses, "%s's last text was understood", owner.Name)
	}
}

func TestTheFirstOwnerIsInHand(t *testing.T) {
	b := newBench(t)
	status, page := b.visit("/")
	require.Equal(t, http.StatusOK, status)
	require.Contains(t, page, "Ada Lindqvist</b>")
	require.Contains(t, page, "Sat Jun 13, 10:40 am")
	require.Contains(t, slips(page)[len(slips(page))-1], "Jets on HIGH now")
	require.Contains(t, page, "(1 waiting)")
	for _, owner := range demo.Owners(b.zone) {
		require.Contains(t, page, owner.Name+": "+owner.About)
	}
}

func TestANewOwnerTextsAndIsAnswered(t *testing.T) {
	b := newBench(t)
	status, page := b.follow("/phone/new", "language", "en")
	require.Equal(t, http.StatusOK, status)
	require.Contains(t, page, "(541) 555-0150")
	require.Contains(t, page, "No texts yet.")
	require.NotContains(t, page, `target="staff">New owner`, "the shop knows nobody of that number yet")

	status, page = b.follow("/phone/text", "owner", newborn, "token", token, "text", "hi, need to flush my pipes", "language", "en")
	require.Equal(t, http.StatusOK, status)
	got := slips(page)
	require.Len(t, got, 2)
	require.Equal(t, "You: hi, need to flush my pipes", got[0])
	require.Contains(t, got[1], "How many gallons")

	_, page = b.follow("/phone/text", "owner", newborn, "token", token, "text", "hi, need to flush my pipes")
	require.Len(t, slips(page), 2, "sent twice, it is one text")
	_, page = b.follow("/phone/new", "language", "es")
	require.Contains(t, page, "(541) 555-0151", "the next new owner has the next number")
	require.Contains(t, page, `<option value="es" selected>`)
}

func TestATappedReplyIsAText(t *testing.T) {
	b := newBench(t)
	_, page := b.follow("/phone/text", "owner", ada, "token", token, "quick", "HOW LONG", "text", "a draft")
	got := slips(page)
	require.Equal(t, "You: HOW LONG", got[len(got)-2])
	require.Contains(t, got[len(got)-1], "to go, until 11:02 am")
}

func TestJumpToTheNextReminder(t *testing.T) {
	b := newBench(t)
	_, page := b.visit("/?owner=%2B15415550142")
	require.Contains(t, page, "Next reminder <b>11:02 am</b>, in 22 min")
	to := field(t, page, `<button name="to"`)
	for range 2 { // a second press of the same button goes no further
		status, page := b.follow("/phone/jump", "owner", ada, "to", to)
		require.Equal(t, http.StatusOK, status)
		got := slips(page)
		require.Contains(t, got[len(got)-1], "Time! Jets OFF")
		require.Contains(t, page, "Sat Jun 13, 11:02 am")
	}
	walt := b.conversation("+15415550143")
	require.Equal(t, 2, walt.Service.Nudged, "what was due for others on the way has happened too")
}

func TestOneHourOn(t *testing.T) {
	b := newBench(t)
	_, page := b.visit("/?owner=%2B15415550145")
	require.Contains(t, page, "No reminder is set.")
	status, page := b.follow("/phone/jump", "owner", "+15415550145", "to", field(t, page, `<button name="to"`))
	require.Equal(t, http.StatusOK, status)
	require.Contains(t, page, "Sat Jun 13, 11:40 am")
}

func TestWhatThePhoneRefuses(t *testing.T) {
	b := newBench(t)
	for name, c := range map[string]struct {
		path   string
		fields []string
		says   string
	}{
		"no such number":  {"/phone/text", []string{"owner", "+14155550142", "token", token, "text", "hi"}, "no number of the demo"},
		"no token":        {"/phone/text", []string{"owner", ada, "text", "hi"}, "Reload the page"},
		"no text":         {"/phone/text", []string{"owner", ada, "token", token, "text", "  "}, "no text to send"},
		"broken text":     {"/phone/text", []string{"owner", ada, "token", token, "text", "a\xff"}, "broken characters"},
		"long text":       {"/phone/text", []string{"owner", ada, "token", token, "text", strings.Repeat("a", 1601)}, "at most 1600"},
		"huge form":       {"/phone/text", []string{"owner", ada, "token", token, "text", strings.Repeat("a", 20<<10)}, "too long"},
		"no time":         {"/phone/jump", []string{"owner", ada, "to", "tomorrow"}, "no such time"},
		"too far":         {"/phone/jump", []string{"owner", ada, "to", "2030-01-01T00:00:00Z"}, "no such time"},
		"jump for nobody": {"/phone/jump", []string{"owner", "", "to", "2026-06-14T00:00:00Z"}, "no such time"},
	} {
		t.Run(name, func(t *testing.T) {
			status, page := b.follow(c.path, c.fields...)
			require.Equal(t, http.StatusUnprocessableEntity, status)
			require.Contains(t, page, "<p data-problem>")
			require.Contains(t, page, c.says)
		})
	}
	status, _ := b.visit("/demo/nothing.css")
	require.Equal(t, http.StatusNotFound, status)
}

func TestAnOddOwnerShowsTheFirst(t *testing.T) {
	b := newBench(t)
	for _, path := range []string{"/?owner=<script>", "/?owner=%2B12125550142"} {
		status, page := b.visit(path)
		require.Equal(t, http.StatusOK, status)
		require.Contains(t, page, "Ada Lindqvist</b>")
	}
}

func TestNewSaysWhatIsMissing(t *testing.T) {
	_, err := demo.New(demo.Options{})
	require.ErrorContains(t, err, "missing")
}
