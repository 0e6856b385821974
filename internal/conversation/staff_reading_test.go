package conversation_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
	"tubhand/internal/understand"
)

// test makes readings of single values: "ph", 7.4, ...
func readings(pairs ...any) conversation.Readings {
	r := conversation.Readings{}
	for i := 0; i+1 < len(pairs); i += 2 {
		r[understand.Quantity(pairs[i].(string))] = understand.Value{Low: pairs[i+1].(float64), High: pairs[i+1].(float64)}
	}
	return r
}

// atStrip is a flush that asks for the first test.
func atStrip(t *testing.T) *walk {
	t.Helper()
	k := newWalk(world(t))
	k.c.Tub.VolumeUSGal, k.c.Tub.Sanitizer = 375, "chlorine"
	for _, text := range []string{"FLUSH", "yes", "yes", "yes", "pump", "1", "no"} {
		k.text(text)
	}
	require.Equal(t, "strip", k.c.Service.State)
	return k
}

func (k *walk) correct(r conversation.Readings, at time.Time) {
	k.staff(conversation.StaffAction{Act: conversation.Correct, Readings: r, At: at, Reason: "the photo shows it"})
}

func TestACorrectedTestIsHeldToTheSameLimits(t *testing.T) {
	k := atStrip(t)
	k.text("3 7.4 100")
	require.Equal(t, "prepare", k.c.Service.State)
	sent := k.now
	k.after(5*time.Minute).correct(readings("free_chlorine_ppm", 15.0, "ph", 7.4, "total_alkalinity_ppm", 100.0), sent)
	require.Equal(t, "unsafe_reading", k.c.Open[0].Cause)
	require.NotNil(t, k.c.Hold)
	require.Contains(t, k.said(), "Dana from Fernhollow Tub Supply looked at your test. It reads free chlorine 15")
	require.Contains(t, k.said(), "Nobody in the water")
	require.Contains(t, k.trail(), "Dana corrected the test of 9:00 am: free chlorine 15, pH 7.4, alkalinity 100. Reason: the photo shows it")
	require.Equal(t, sent, k.c.Tub.Readings[understand.FreeChlorine].At, "it counts from when the owner sent it")
}

func TestACorrectedTestAnswersTheStepInWords(t *testing.T) {
	k := atStrip(t)
	k.text("3 74")
	require.Equal(t, "strip", k.c.Service.State)
	k.after(time.Minute).correct(readings("free_chlorine_ppm", 3.0, "ph", 7.4, "total_alkalinity_ppm", 100.0), k.now)
	require.Contains(t, k.said(), "looked at your test. It reads free chlorine 3, pH 7.4")
	require.Equal(t, "prepare", k.c.Service.State, "as the same test from the owner would")
}

func TestANumberTakenForAnotherQuantityIsWithdrawn(t *testing.T) {
	k := newWalk(world(t))
	k.c.Tub.VolumeUSGal, k.c.Tub.Sanitizer = 375, "chlorine"
	k.text("hi")
	k.text("alkalinity 170")
	require.Contains(t, k.c.Tub.Readings, understand.TotalAlkalinity)
	k.correct(readings("calcium_hardness_ppm", 170.0), k.now)
	require.NotContains(t, k.c.Tub.Readings, understand.TotalAlkalinity)
	require.Equal(t, 170.0, k.c.Tub.Readings[understand.CalciumHardness].Value.Low)
	kinds := ""
	for _, e := range k.fx.Log {
		kinds += e.Kind + " " + e.Name + ";"
	}
	require.Equal(t, "reading calcium_hardness_ppm;withdrawn total_alkalinity_ppm;", kinds)
}

func TestACorrectionVoidsTheDoseItWasWorkedOutFrom(t *testing.T) {
	k := atStrip(t)
	k.text("4 8.0 100")
	k.text("1")
	require.Equal(t, "balance_first", k.c.Service.State)
	before := k.c.Service.Advised["balance"]
	require.NotEmpty(t, before.Measure)
	sent := k.c.Tub.Readings[understand.PH].At
	k.after(time.Minute).correct(readings("free_chlorine_ppm", 4.0, "ph", 8.2, "total_alkalinity_ppm", 100.0), sent)
	require.Contains(t, k.trail(), "No longer advised: "+before.Measure)
	require.Equal(t, "balance_first", k.c.Service.State)
	require.Equal(t, k.now, k.c.Service.Advised["balance"].At, "worked out anew")

	k.after(time.Minute).correct(readings("free_chlorine_ppm", 4.0, "ph", 7.4, "total_alkalinity_ppm", 100.0), sent)
	require.Empty(t, k.c.Service.Advised, "nothing is to be added now")
	require.Contains(t, k.said(), "Please add nothing for now")
	require.Equal(t, "corrected_reading", k.c.Open[0].Cause)
}

func TestACorrectionThatCannotBeChangesNothing(t *testing.T) {
	for name, r := range map[string]conversation.Readings{
		"contradicts itself": readings("free_chlorine_ppm", 5.0, "total_chlorine_ppm", 2.0),
		"no such value":      readings("ph", 74.0),
		"nothing":            {},
	} {
		t.Run(name, func(t *testing.T) {
			k := atStrip(t)
			k.text("3 7.4 100")
			before := asJSON(t, k.c.Tub)
			k.after(time.Minute).correct(r, k.now.Add(-time.Minute))
			require.Equal(t, before, asJSON(t, k.c.Tub))
			require.Empty(t, k.out)
			require.Equal(t, "prepare", k.c.Service.State)
		})
	}
}

func TestAnOldTestIsCorrectedForTheLogAlone(t *testing.T) {
	k := newWalk(world(t))
	k.c.Tub.VolumeUSGal, k.c.Tub.Sanitizer = 375, "chlorine"
	k.text("hi")
	k.text("ph 7.4")
	sent := k.now
	k.after(5*time.Hour).correct(readings("ph", 8.8), sent)
	require.Empty(t, k.out)
	require.Empty(t, k.c.Open)
	require.Len(t, k.fx.Log, 1)
	require.Equal(t, sent, k.fx.Log[0].At)
}

func TestAfterTheWordToSoakACorrectionTakesItBack(t *testing.T) {
	k := atLastLook(t)
	k.text("yes")
	require.Contains(t, k.said(), "You can soak")
	require.Nil(t, k.c.Service)
	sent := k.c.Tub.Readings[understand.PH].At
	k.after(time.Minute).correct(readings("free_chlorine_ppm", 4.0, "ph", 8.0, "total_alkalinity_ppm", 100.0, "water_temp_f", 100.0), sent)
	require.Contains(t, k.said(), "nobody in the water for now")
}

func TestACorrectionWhileAPersonHasItSaysNothing(t *testing.T) {
	k := atStrip(t)
	k.text("4 8.0 100")
	k.text("1")
	sent := k.c.Tub.Readings[understand.PH].At
	k.staff(conversation.StaffAction{Act: conversation.Pause})
	require.Contains(t, k.said(), "Dana from Fernhollow Tub Supply is on it")
	k.after(time.Minute).correct(readings("free_chlorine_ppm", 4.0, "ph", 8.2, "total_alkalinity_ppm", 100.0), sent)
	require.Empty(t, k.out)
	require.Empty(t, k.c.Service.Advised)
	k.staff(conversation.StaffAction{Act: conversation.HandBack})
	require.NotEmpty(t, k.c.Service.Advised["balance"].Measure, "worked out anew when it goes on")
	require.True(t, strings.Contains(k.said(), "handed back to me"))
}
