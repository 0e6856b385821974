package console_test

import (
	"net/http"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
	"tubhand/internal/understand"
)

const ada = "/staff/conversation?with=%2B15415550142"

func (d *desk) putAda() conversation.Conversation {
	d.Helper()
	now := d.clock.Now()
	c := soaking("+15415550142", "Ada Lindqvist", now)
	c.Tub.Readings = map[understand.Quantity]conversation.Measured{
		understand.PH:           {Value: understand.Value{Low: 7.4, High: 7.4}, At: now},
		understand.FreeChlorine: {Value: understand.Value{Low: 3, High: 5}, At: now},
		understand.WaterTemp:    {Value: understand.Value{Low: 106, OpenHigh: true}, At: now},
	}
	c.Tub.JarSpoons = map[string]float64{"Fernhollow Line Rinse": 12.25}
	d.put(c, conversation.Effects{
		Lines: []conversation.Line{
			{ID: "l1", Conversation: c.ID, At: now.Add(-26 * time.Hour), Direction: conversation.In, Text: "flush <b>please</b>", Understood: "start_service, flush_plumbing"},
			{ID: "l2", Conversation: c.ID, At: now.Add(-time.Hour), Direction: conversation.Out, Send: true, Text: "How many gallons does your tub hold? " + longTail, Delivery: "failed"},
			{ID: "l3", Conversation: c.ID, At: now, Direction: conversation.Staff, By: "luis", Send: true, Text: "Luis here."},
			{ID: "l4", Conversation: c.ID, At: now, Direction: conversation.Note, Text: "Luis started flush_plumbing"},
		},
		Remind: []conversation.Reminder{{ID: "r1", Conversation: c.ID, Due: now.Add(18 * time.Minute), Name: "timer:flush_plumbing/soak/soak_over"}},
		Log: []conversation.LogEntry{
			{ID: "e1", Conversation: c.ID, At: now.Add(-time.Hour), Kind: "reading", Name: "ph", Low: 7.4, High: 7.4},
			{ID: "e2", Conversation: c.ID, At: now, Kind: "added", Dose: &conversation.Dose{Name: "flush_product", Product: "Fernhollow Line Rinse", Measure: "3 3/4 level teaspoons"}},
		},
	})
	return c
}

const longTail = "It is on the label inside the cabinet door, in the manual or on your receipt. The dose depends on it, so I ask before anything else is done."

func TestConversationPage(t *testing.T) {
	d := newDesk(t)
	d.putAda()
	status, page, _ := d.get(ada)
	require.Equal(t, http.StatusOK, status)
	text := words(page)
	for _, want := range []string{
		"Fri Jun 12 Ada Lindqvist 8:40 am flush &lt;b&gt;please&lt;/b&gt; understood: start service, flush plumbing",
		"Tub helper 9:40 am not delivered 2 texts How many gallons", "Luis 10:40 am waiting to go out Luis here.", "Note 10:40 am Luis started",
		"Soak over 10:58 am in 18 min", "Volume 375 US gal, as the owner says", "Sanitizer Chlorine",
		"Free chlorine 3 to 5 ppm", "pH 7.4", "Water over 106 F", "Left of Fernhollow Line Rinse 12.25 level tsp",
		"added 3 3/4 level teaspoons of Fernhollow Line Rinse 10:40 am reading pH 7.4", "Language English",
		"Soaking Plumbing flush", "Reply as Dana",
	} {
		require.Contains(t, text, want)
	}
	require.NotContains(t, page, "<b>please</b>", "an owner's words are never markup")
}

func TestConversationWithoutAService(t *testing.T) {
	d := newDesk(t)
	d.put(conversation.Conversation{ID: "+15415550142"}, conversation.Effects{})
	_, page, _ := d.get(ada)
	require.Contains(t, words(page), "No service running. ")
	require.Contains(t, words(page), "Volume not known: nothing is dosed")
	require.Contains(t, words(page), "Start a service Service ")
	require.Contains(t, words(page), " Plumbing flush ")
	require.NotContains(t, words(page), "Too much foam", "a trouble cannot be started by itself")
}

func TestTroubleShowsWhatItInterrupted(t *testing.T) {
	d := newDesk(t)
	c := soaking("+15415550142", "Ada Lindqvist", d.clock.Now())
	c.Service.Flow, c.Service.State = "trouble_foam", "foam"
	c.Service.Caller = &conversation.Caller{Flow: "flush_plumbing", State: "soak"}
	d.put(c, conversation.Effects{})
	_, page, _ := d.get(ada)
	require.Contains(t, words(page), "Too much foam, during Plumbing flush")
	require.Contains(t, words(page), "Power on Full Product in Filters out", "the tub is as it was when the trouble began")
}

func TestPowerOverLowWaterIsSaid(t *testing.T) {
	d := newDesk(t)
	c := soaking("+15415550142", "Ada Lindqvist", d.clock.Now())
	c.Service.State = "blow_out"
	d.put(c, conversation.Effects{})
	_, page, _ := d.get(ada)
	require.Contains(t, page, `<li class="tone-alarm">Power on over low water</li>`)
}

func TestHeldConversation(t *testing.T) {
	d := newDesk(t)
	c := soaking("+15415550142", "Ada Lindqvist", d.clock.Now())
	c.Hold = &conversation.Hold{By: "luis", Since: d.clock.Now()}
	c.Danger = &conversation.Danger{Hazard: "chemical_mixing", At: d.clock.Now()}
	d.put(c, conversation.Effects{})
	_, page, _ := d.get(ada)
	require.Contains(t, page, "Luis has this conversation. The tub helper keeps quiet.")
	require.Contains(t, page, "Danger heard: Chemical mixing")
}

func TestUnknownConversation(t *testing.T) {
	d := newDesk(t)
	for _, path := range []string{"/staff/conversation?with=%2B15415550199", "/staff/conversation"} {
		status, page, _ := d.get(path)
		require.Equal(t, http.StatusNotFound, status)
		require.Contains(t, page, "There is no conversation with that number at this shop.")
	}
}
