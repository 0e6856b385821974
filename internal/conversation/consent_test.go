package conversation_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/flows"
	"tubhand/internal/conversation"
	"tubhand/internal/flow"
	"tubhand/internal/shop"
	"tubhand/internal/wording"
	"tubhand/templates"
)

// ruled is the demo shop with rules of its own, and a mailbox.
func ruled(t *testing.T, rules conversation.ConsentRules) *conversation.World {
	t.Helper()
	set, err := flow.Load(flows.FS)
	require.NoError(t, err)
	words, err := wording.Load(templates.FS)
	require.NoError(t, err)
	s := shop.Demo().Shop
	s.Consent, s.Mail, s.Secret = rules, "hello@fernhollow.example", []byte("for this test only")
	w, err := conversation.NewWorld(s, set, words)
	require.NoError(t, err)
	return w
}

func TestTheRecordSaysHowOwnersAgreed(t *testing.T) {
	k := newWalk(ruled(t, conversation.ConsentRules{}))
	k.text("hi")
	record := k.c.Consent.Record
	require.Len(t, record, 1)
	require.Equal(t, conversation.WroteFirst, record[0].How)
	require.Equal(t, conversation.ForReplies, record[0].For)
	require.True(t, record[0].Given)
	require.Contains(t, record[0].Wording, "automated", "what they were shown")
	require.True(t, k.c.Allows(conversation.ForReplies))
	require.False(t, k.c.Allows(conversation.ForMonths), "that is never taken for granted")

	k.text("please stop texting me")
	record = k.c.Consent.Record
	require.Len(t, record, 2)
	require.Equal(t, conversation.Keyword, record[1].How)
	require.False(t, record[1].Given)
	require.Equal(t, "please stop texting me", record[1].Wording)
	require.False(t, k.c.Allows(conversation.ForReplies))
	require.True(t, k.c.Silenced("+15415550199"), "at all of their numbers")
	require.False(t, k.c.Silenced("robin@owner.example"), "e-mail is another kind of channel")

	k.text("START")
	require.True(t, k.c.Allows(conversation.ForReplies))
	require.False(t, k.c.Silenced("+15415550199"))
}

func TestTheRecordIsBounded(t *testing.T) {
	k := newWalk(ruled(t, conversation.ConsentRules{}))
	for range 60 {
		k.text("STOP")
		k.text("START")
	}
	record := k.c.Consent.Record
	require.LessOrEqual(t, len(record), 40)
	require.Equal(t, conversation.WroteFirst, record[0].How, "the first stays")
	require.True(t, record[len(record)-1].Given)
}

func TestAPrintedWordIsNotedAndTheRestIsAnswered(t *testing.T) {
	s := conversation.ConsentRules{Printed: map[string]string{"TUB1": "Text TUB1 for help with your tub"}}
	k := newWalk(ruled(t, s))
	k.text("Tub1 flush my pipes")
	require.NotNil(t, k.c.Service, "the rest is what they want")
	require.Equal(t, conversation.PrintedCode, k.c.Consent.Record[0].How)
	require.Equal(t, "TUB1: Text TUB1 for help with your tub", k.c.Consent.Record[0].Wording)

	k = newWalk(ruled(t, s))
	k.text("TUB1")
	require.Contains(t, k.said(), "FLUSH", "the menu")

	k = newWalk(ruled(t, s))
	k.text("TUB1 my son drank some of the granules")
	require.Contains(t, k.said(), "911")
	require.NotContains(t, k.said(), "automated")
}

func TestWhoHasOptedOutBeforeIsStillOptedOut(t *testing.T) {
	k := newWalk(ruled(t, conversation.ConsentRules{}))
	k.c.OptOut(k.c.Owner.Addresses[0], k.now.Add(-time.Hour))
	k.text("hi, how do I flush my pipes")
	require.Empty(t, k.out)
	k.text("STOP")
	require.Empty(t, k.out, "the one confirmation was sent long ago")
	k.text("my son drank some of the granules")
	require.Contains(t, k.said(), "911", "an emergency is answered all the same")
	k.text("START")
	require.False(t, k.c.OptedOut)
}

func TestAnOptOutFromBeforeKindsStillCounts(t *testing.T) {
	k := newWalk(ruled(t, conversation.ConsentRules{}))
	k.text("hi")
	k.c.OptedOut, k.c.Consent.Out = true, nil // as older records have it
	k.text("hello?")
	require.Empty(t, k.out)
	k.text("START")
	require.NotEmpty(t, k.out)
	require.False(t, k.c.Silenced(k.c.Owner.Addresses[0]))
}

func TestShopsNarrowTheHoursAndNeverWidenThem(t *testing.T) {
	for name, c := range map[string]struct {
		rules conversation.ConsentRules
		asked bool
	}{
		"usual":    {conversation.ConsentRules{}, false},
		"narrowed": {conversation.ConsentRules{From: 9 * 60, Until: 18 * 60}, true},
		"widened":  {conversation.ConsentRules{From: 0, Until: 24 * 60}, false},
	} {
		k := newWalk(ruled(t, c.rules))
		k.c.Owner.TimeZone = "America/New_York"
		k.now = time.Date(2026, 6, 13, 17, 30, 0, 0, mustZone(t, "America/New_York"))
		k.text("flush my pipes")
		if c.asked {
			require.Contains(t, k.said(), "TOMORROW", name)
		} else {
			require.NotContains(t, k.said(), "TOMORROW", name)
		}
	}
	k := newWalk(ruled(t, conversation.ConsentRules{From: 0, Until: 24 * 60}))
	k.now = time.Date(2026, 6, 13, 21, 30, 0, 0, mustZone(t, "America/Los_Angeles"))
	k.text("flush my pipes")
	require.Contains(t, k.said(), "TOMORROW", "a shop can't widen what the law allows")
}

func TestOptingOutOfTextsLeavesMailAndTheOtherWayRound(t *testing.T) {
	k := newWalk(ruled(t, conversation.ConsentRules{}))
	k.text("hi")
	k.c.Owner.Addresses = append(k.c.Owner.Addresses, "+15415550177", mailAddress)
	k.text("STOP")
	for _, number := range []string{address, "+15415550177"} {
		k.write(conversation.Event{From: number, Text: "hello?" + number})
		require.Empty(t, k.out, "nothing to any of their numbers")
	}
	k.write(conversation.Event{From: mailAddress, Text: "and by mail?"})
	require.NotEmpty(t, k.out)
	require.Equal(t, mailAddress, k.out[0].To)
	k.write(conversation.Event{From: mailAddress, Text: "unsubscribe"})
	require.Len(t, k.out, 1)
	require.Contains(t, k.said(), "no more e-mails")
	k.write(conversation.Event{From: mailAddress, Text: "start"})
	require.NotEmpty(t, k.out)
	k.write(conversation.Event{From: address, Text: "still out?"})
	require.Empty(t, k.out, "coming back to mail is not coming back to texts")
	k.do(conversation.Event{Kind: conversation.StaffAct, Staff: conversation.StaffAction{Act: conversation.Reply, By: "dana", Text: "Dana here"}})
	require.Empty(t, k.out)
}

func TestNoCodeGoesToAnAddressThatHasOptedOut(t *testing.T) {
	k := newWalk(ruled(t, conversation.ConsentRules{}))
	k.text("hi")
	k.do(conversation.Event{Kind: conversation.TextIn, Text: "LINK " + mailAddress, Barred: mailAddress})
	require.Len(t, k.out, 1)
	require.Equal(t, address, k.out[0].To)
	require.Contains(t, k.said(), "no more messages")
}

func TestHelpAndStartAreAnsweredWhoeverSendsThem(t *testing.T) {
	for _, text := range []string{"HELP", "info", "INFO.", "AYUDA", "Información"} {
		k := newWalk(ruled(t, conversation.ConsentRules{}))
		k.text("hi")
		k.text(text)
		require.Contains(t, k.said(), "555-0100", text)
	}
	k := newWalk(ruled(t, conversation.ConsentRules{}))
	k.text("hi")
	k.text("START")
	require.Contains(t, k.said(), "FLUSH", "they want something")
	require.Equal(t, conversation.Keyword, k.c.Consent.Record[1].How)
	k.text("flush my pipes")
	k.text("START")
	require.NotNil(t, k.c.Service)
	require.NotContains(t, k.said(), "didn't get that")
}

func TestNothingThatWasToComeComesAfterAnOptOut(t *testing.T) {
	k := newWalk(ruled(t, conversation.ConsentRules{}))
	k.now = time.Date(2026, 6, 13, 21, 30, 0, 0, mustZone(t, "America/Los_Angeles"))
	k.text("flush my pipes")
	k.text("tomorrow")
	require.Nil(t, k.c.Service)
	require.Len(t, k.pending, 1)
	k.text("STOP")
	require.Empty(t, k.pending, "taken back with the opt-out")
	late := conversation.Reminder{ID: "late", Name: "seasonal:morning/flush_plumbing"}
	k.c.Consent.Seasonal = map[string]conversation.Pending{"morning/flush_plumbing": {ID: "late"}}
	k.do(conversation.Event{ID: "late", Kind: conversation.ReminderDue, Reminder: late})
	require.Empty(t, k.out, "nor one that was already on its way")
}

func mustZone(t *testing.T, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	require.NoError(t, err)
	return z
}
