package conversation_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
)

// staff has a member of staff do something.
func (k *walk) staff(a conversation.StaffAction) {
	if a.By == "" {
		a.By = "dana"
	}
	k.do(conversation.Event{Kind: conversation.StaffAct, Staff: a})
}

// trail is what the last turn noted for staff.
func (k *walk) trail() string {
	var notes []string
	for _, l := range k.fx.Lines {
		if l.Direction == conversation.Note {
			notes = append(notes, l.By+": "+l.Text)
		}
	}
	return strings.Join(notes, "\n")
}

// held is a flush whose strip was unsafe, so that a person has to look.
func held(t *testing.T) *walk {
	t.Helper()
	k := newWalk(world(t))
	k.c.Tub.VolumeUSGal, k.c.Tub.Sanitizer = 375, "chlorine"
	for _, text := range []string{"FLUSH", "yes", "yes", "yes", "pump", "1", "no", "15 7.4 100"} {
		k.text(text)
	}
	require.Equal(t, "unsafe_reading", k.c.Open[0].Cause)
	return k
}

// TestEveryStaffActLeavesATrace: who, when, and what.
func TestEveryStaffActLeavesATrace(t *testing.T) {
	for name, c := range map[string]struct {
		acts []conversation.StaffAction
		want string
	}{
		"claim":         {[]conversation.StaffAction{{Act: conversation.Claim}}, "dana: Dana took the case: unsafe reading"},
		"close":         {[]conversation.StaffAction{{Act: conversation.CloseIt, Text: "fresh water"}}, "dana: Dana closed the case: unsafe reading. Outcome: fresh water"},
		"hand back":     {[]conversation.StaffAction{{Act: conversation.HandBack}}, "dana: Dana handed the conversation back"},
		"note":          {[]conversation.StaffAction{{Act: conversation.NoteIt, Text: "third time"}}, "dana: Dana noted on unsafe reading: third time"},
		"note, no case": {[]conversation.StaffAction{{Act: conversation.CloseIt}, {Act: conversation.NoteIt, Text: "nice people"}}, "dana: Dana noted: nice people"},
		"start in vain": {[]conversation.StaffAction{{Act: conversation.StartIt, Flow: "flush_plumbing"}}, "dana: Dana wanted to start the plumbing flush"},
		"start nothing": {[]conversation.StaffAction{{Act: conversation.StartIt, Flow: "paint"}}, `wanted to start "paint", which is no service`},
		"reply takes":   {[]conversation.StaffAction{{Act: conversation.Reply, Text: "Hi"}}, "dana: Dana took the case: unsafe reading"},
		"unknown step":  {[]conversation.StaffAction{{Act: conversation.HandBack, State: "moon"}}, `Dana chose "moon", which is no step of this service`},
	} {
		t.Run(name, func(t *testing.T) {
			k := held(t)
			for _, a := range c.acts {
				k.after(time.Minute).staff(a)
			}
			require.Contains(t, k.trail(), c.want)
			for _, l := range k.fx.Lines {
				require.Equal(t, k.now, l.At)
				require.False(t, l.Direction == conversation.Note && l.Send, "a note is never sent")
			}
		})
	}
}

func TestNotesStayWithTheCaseToItsEnd(t *testing.T) {
	k := held(t)
	first := k.now
	k.staff(conversation.StaffAction{Act: conversation.NoteIt, Text: "called, no answer"})
	require.Empty(t, k.out, "the owner is not told")
	require.Empty(t, k.c.Open[0].By, "a note takes no case")
	k.after(time.Hour).staff(conversation.StaffAction{Act: conversation.NoteIt, By: "luis", Text: "reached them", Handover: k.c.Open[0].ID})
	k.staff(conversation.StaffAction{Act: conversation.NoteIt, Text: "   "})
	k.staff(conversation.StaffAction{Act: conversation.NoteIt, Text: "elsewhere", Handover: "no such case"})
	k.staff(conversation.StaffAction{Act: conversation.CloseIt, Text: "drained"})
	closed := k.fx.Handovers[0]
	require.Equal(t, []conversation.Remark{
		{At: first, By: "dana", Text: "called, no answer"}, {At: k.now, By: "luis", Text: "reached them"},
	}, closed.Notes)
	require.Equal(t, "drained", closed.Outcome)
	require.Equal(t, k.now, closed.Closed)
}

// TestNobodyHandsBackToSoaking: a person cannot clear a tub by choosing the last step.
func TestNobodyHandsBackToSoaking(t *testing.T) {
	k := held(t)
	k.staff(conversation.StaffAction{Act: conversation.HandBack, State: "soak_ok"})
	require.NotContains(t, k.said(), "You can soak")
	require.Equal(t, "strip", k.c.Service.State)
	require.Contains(t, k.trail(), "no fresh test that allows it")
	k = atLastLook(t)
	k.text("I want to talk to a person")
	k.staff(conversation.StaffAction{Act: conversation.HandBack, State: "soak_ok"})
	require.Contains(t, k.said(), "You can soak", "with the test that allows it")
}

func TestHandingBackAtAChosenStep(t *testing.T) {
	k := held(t)
	k.staff(conversation.StaffAction{Act: conversation.HandBack, State: "prepare", Text: "it was a bad strip"})
	require.Equal(t, "prepare", k.c.Service.State)
	require.Nil(t, k.c.Hold)
	require.Empty(t, k.c.Open)
	require.Contains(t, k.said(), "Dana has handed back to me")
	require.Contains(t, k.said(), "Headrests off")
	require.Contains(t, k.trail(), "Outcome: it was a bad strip")
}

// TestClosingLetsAWaitGoOn: the end of a wait that passed while a person had the
// conversation is said after all.
func TestClosingLetsAWaitGoOn(t *testing.T) {
	k := atSoak(t)
	k.text("I mixed the chlorine with the acid by mistake")
	require.NotNil(t, k.c.Hold)
	k.staff(conversation.StaffAction{Act: conversation.Claim})
	require.True(t, k.fire(), "the soak ends while it is held")
	require.Empty(t, k.out)
	k.after(time.Minute).staff(conversation.StaffAction{Act: conversation.CloseIt, Text: "all well"})
	require.True(t, k.fire())
	require.Contains(t, k.said(), "Time! Jets OFF")
}

// atSoak is a flush with the product running through the lines.
func atSoak(t *testing.T) *walk {
	t.Helper()
	k := newWalk(world(t))
	k.c.Tub.VolumeUSGal, k.c.Tub.Sanitizer = 375, "chlorine"
	for _, text := range []string{"FLUSH", "yes", "yes", "yes", "pump", "1", "no", "3 7.4 100", "done", "done"} {
		k.text(text)
	}
	require.Equal(t, "soak", k.c.Service.State)
	return k
}

// TestNothingIsDosedOnAnUnsafeReading: not even where a person hands back to the dose.
func TestNothingIsDosedOnAnUnsafeReading(t *testing.T) {
	for _, state := range []string{"add_product", "balance_first"} {
		k := held(t)
		k.staff(conversation.StaffAction{Act: conversation.HandBack, State: state})
		require.NotContains(t, k.said(), "teaspoon", state)
		require.Equal(t, "unsafe_reading", k.c.Open[0].Cause)
		require.NotNil(t, k.c.Hold)
		require.Contains(t, k.said(), "Nobody in the water")
	}
	k := held(t)
	k.staff(conversation.StaffAction{Act: conversation.HandBack, State: "strip"})
	k.text("4 7.4 100")
	k.text("done")
	require.Contains(t, k.said(), "teaspoons of Fernhollow Line Rinse", "after a new test it goes on")
}

// TestSomebodyWhoIsNotInTheShopFile has an account on the console alone: notes and owners
// are told their name, owners in the alphabet of texts.
func TestSomebodyWhoIsNotInTheShopFile(t *testing.T) {
	k := held(t)
	k.staff(conversation.StaffAction{Act: conversation.Claim, By: "zoe", Name: "Zoë Ångström"})
	require.Equal(t, "zoe: Zoë Ångström took the case: unsafe reading", k.trail())
	require.Contains(t, k.said(), "Zoe Ångstr")
	require.NotContains(t, k.said(), "ë")
	k = held(t)
	k.staff(conversation.StaffAction{Act: conversation.Claim, By: "dana", Name: "Somebody Else"})
	require.Contains(t, k.trail(), "Dana took the case", "the shop file's name goes first")
	k = held(t)
	k.staff(conversation.StaffAction{Act: conversation.Claim, By: "zoe"})
	require.Contains(t, k.trail(), "the shop took the case")
}
