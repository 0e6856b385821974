package conversation_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
)

// retested is a flush whose new water was tested with more combined chlorine than may be
// soaked in, and treated once.
func retested(t *testing.T) *walk {
	t.Helper()
	k := atLastLook(t)
	k.text("no") // cloudy: filtered for two hours
	k.until(t, "retest")
	k.text("free chlorine 4, total chlorine 5, ph 7.4, alkalinity 100, water temp 100 F")
	require.Equal(t, "balance", k.c.Service.State)
	require.Contains(t, k.said(), "The combined chlorine is high.")
	k.text("done")
	k.until(t, "retest")
	return k
}

// TestTreatedCombinedChlorineIsMeasuredAnew: a good test that leaves out what was
// treated clears nobody.
func TestTreatedCombinedChlorineIsMeasuredAnew(t *testing.T) {
	k := retested(t)
	k.text("free chlorine 4, ph 7.4, alkalinity 100, water temp 100 F")
	require.Contains(t, k.said(), "I still need: total chlorine")
	require.Equal(t, "retest", k.c.Service.State)
	k.text("free chlorine 4, total chlorine 4.2, ph 7.4, alkalinity 100, water temp 100 F")
	require.Equal(t, "clear", k.c.Service.State)
	k.text("yes")
	require.Contains(t, k.said(), "You can soak")
}

func TestCombinedChlorineThatStaysIsAPersons(t *testing.T) {
	k := retested(t)
	k.text("free chlorine 4, total chlorine 5, ph 7.4, alkalinity 100, water temp 100 F")
	require.Equal(t, "unsafe_reading", k.c.Open[0].Cause)
	require.Contains(t, k.said(), "treatment did not help")
	require.NotContains(t, k.said(), "teaspoon", "no second treatment")
}

// TestSoakNotes: what may be soaked in and still wants a word.
func TestSoakNotes(t *testing.T) {
	for text, notes := range map[string][]string{
		"alkalinity 110": nil,
		"ph 7.1":         {"raise it a little"},
		"ph 7.1, free chlorine 4, alkalinity 100, water temp 101 F, cyanuric acid 30": {"raise it a little", "CDC"},
		"calcium hardness 80": {"plan a correction"},
	} {
		t.Run(text, func(t *testing.T) {
			k := atLastLook(t)
			k.c.Tub.Past = nil
			k.text(text)
			k.text("yes")
			require.Contains(t, k.said(), "You can soak")
			for _, note := range notes {
				require.Contains(t, k.said(), note)
			}
			if notes == nil {
				require.NotContains(t, k.said(), "Good to know")
			}
			require.NotContains(t, k.said(), "healthy adult", "the heat has its cautions already")
		})
	}
}

func TestCyanuricAcidIsToldOnce(t *testing.T) {
	k := atLastLook(t)
	k.text("cyanuric acid 30")
	k.text("yes")
	require.Contains(t, k.said(), "CDC")
	again := atLastLook(t)
	again.c.Tub.ToldCyanuric = true
	again.text("cyanuric acid 30")
	again.text("yes")
	require.NotContains(t, again.said(), "CDC")
}

// TestNobodyIsToldThatWhatHurtThemIsClosed reads the end of an emergency as its owner does.
func TestNobodyIsToldThatWhatHurtThemIsClosed(t *testing.T) {
	k := newWalk(world(t))
	k.text("I don't want to live anymore")
	k.staff(conversation.StaffAction{Act: conversation.CloseIt, Text: "spoke with her sister"})
	require.NotContains(t, k.said(), "closed")
	require.Contains(t, k.said(), "In an emergency call 911")
	require.NotContains(t, k.said(), "sister", "outcomes are for staff")
}
