package console_test

import (
	"fmt"
	"net/http"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
)

func handover(id, conv, cause, severity string, opened time.Time) conversation.Handover {
	return conversation.Handover{ID: id, Shop: "fernhollow", Conversation: conv, Cause: cause, Severity: severity, Opened: opened, Facts: "375 gal"}
}

func TestBoardPutsEveryoneInOnePlace(t *testing.T) {
	d := newDesk(t)
	now := d.clock.Now()
	d.put(soaking("+15415550142", "Ada Lindqvist", now), conversation.Effects{
		Remind: []conversation.Reminder{{ID: "r1", Conversation: "+15415550142", Due: now.Add(18 * time.Minute), Name: "timer:flush_plumbing/soak/soak_over"}},
	})
	quiet := soaking("+15415550143", "Walt Greer", now)
	quiet.Service.State, quiet.Service.Nudged, quiet.LastIn = "drain", 2, now.Add(-50*time.Minute)
	d.put(quiet, conversation.Effects{})
	waiting := conversation.Conversation{ID: "+15415550144", Owner: conversation.Owner{Name: "June Okafor"}}
	waiting.Open = []conversation.Handover{handover("h1", waiting.ID, "leak", "technician", now.Add(-3*time.Hour))}
	d.put(waiting, conversation.Effects{})
	hurt := conversation.Conversation{ID: "+15415550145", Owner: conversation.Owner{Name: "Theo Brandt"}}
	hurt.Open = []conversation.Handover{handover("h2", hurt.ID, "electric_shock", "emergency", now.Add(-time.Minute))}
	d.put(hurt, conversation.Effects{})
	d.put(conversation.Conversation{ID: "+15415550146", Owner: conversation.Owner{Name: "Marisol Vega"},
		Tub: conversation.Tub{LastFlush: now.Add(-time.Hour)}}, conversation.Effects{})
	d.put(conversation.Conversation{ID: "+15415550147", OptedOut: true,
		Tub: conversation.Tub{LastFlush: now.Add(-24 * time.Hour)}}, conversation.Effects{})

	status, page, _ := d.get("/staff/")
	require.Equal(t, http.StatusOK, status)
	require.Regexp(t, `(?s)Theo Brandt.*Electric shock.*June Okafor.*Leak`, lane(t, page, "needs"), "the worst first, however short it waits")
	require.Contains(t, words(lane(t, page, "needs")), "waiting 3 h")
	require.Contains(t, words(lane(t, page, "service")), "Ada Lindqvist Soaking Plumbing flush Waits for the time to pass (12 min so far)")
	require.Contains(t, words(lane(t, page, "service")), "Soak over 10:58 am in 18 min")
	require.Contains(t, words(lane(t, page, "service")), "Power on Full Product in Filters out")
	require.Contains(t, words(lane(t, page, "quiet")), "Walt Greer Draining Plumbing flush Power off Water going down Product in Filters out quiet 50 min")
	require.Contains(t, words(lane(t, page, "done")), "Marisol Vega Flush finished")
	require.Contains(t, words(lane(t, page, "rest")), "(541) 555-0147 No texts: opted out")
	require.Contains(t, page, "<title>EMERGENCY: 2 people needed", "a glance at the tab tells")
	for _, name := range []string{"Theo Brandt", "June Okafor", "Ada Lindqvist", "Walt Greer", "Marisol Vega"} {
		require.Len(t, everywhere(page, ">"+name+"<"), 1, "%s stands in one lane", name)
	}
}

func everywhere(page, what string) []int {
	var at []int
	for i := 0; i+len(what) <= len(page); i++ {
		if page[i:i+len(what)] == what {
			at = append(at, i)
		}
	}
	return at
}

func TestBoardOfAnEmptyShop(t *testing.T) {
	d := newDesk(t)
	status, page, _ := d.get("/staff/")
	require.Equal(t, http.StatusOK, status)
	for _, calm := range []string{"Nobody needs a person right now.", "No tub is being worked on.", "Everyone answers.", "Nothing finished yet today."} {
		require.Contains(t, page, calm)
	}
}

func TestAClaimedEmergencyNoLongerShouts(t *testing.T) {
	d := newDesk(t)
	c := conversation.Conversation{ID: "+15415550145", Owner: conversation.Owner{Name: "Theo Brandt"}}
	h := handover("h2", c.ID, "electric_shock", "emergency", d.clock.Now())
	h.By, h.Claimed = "luis", d.clock.Now()
	c.Open = []conversation.Handover{h}
	d.put(c, conversation.Effects{})
	_, page, _ := d.get("/staff/")
	require.Contains(t, page, "<title>1 person needed")
	require.Contains(t, lane(t, page, "needs"), "Luis has it")
}

func TestFind(t *testing.T) {
	d := newDesk(t)
	for i, name := range []string{"Ada Lindqvist", "Marisol Vega"} {
		d.put(conversation.Conversation{ID: fmt.Sprintf("+1541555014%d", i), Owner: conversation.Owner{Name: name}}, conversation.Effects{})
	}
	for query, want := range map[string]string{"vega": "Marisol Vega", "555-0140": "Ada Lindqvist", "(541)%20555-0141": "Marisol Vega"} {
		_, page, _ := d.get("/staff/?find=" + query)
		rest := lane(t, page, "rest")
		require.Contains(t, rest, want)
		require.Equal(t, 1, len(everywhere(rest, "<li")), "only who was looked for")
	}
	_, page, _ := d.get("/staff/?find=nobody")
	require.Contains(t, lane(t, page, "rest"), "Nobody else matches.")
}

// An open handover shows however many conversations have changed since.
func TestTheBoardForgetsNoHandover(t *testing.T) {
	d := newDesk(t)
	old := conversation.Conversation{ID: "+15415550100", Owner: conversation.Owner{Name: "Old Case"}}
	old.Open = []conversation.Handover{handover("h1", old.ID, "leak", "technician", d.clock.Now())}
	d.put(old, conversation.Effects{})
	for i := range 501 {
		d.clock.Jump(time.Second)
		d.put(conversation.Conversation{ID: fmt.Sprintf("+1541556%04d", i)}, conversation.Effects{})
	}
	_, page, _ := d.get("/staff/")
	require.Contains(t, lane(t, page, "needs"), "Old Case")
}
