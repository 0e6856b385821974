package conversation_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
)

func (k *walk) set(fact, value, reason string) {
	k.staff(conversation.StaffAction{Act: conversation.SetFact, Fact: fact, Value: value, Reason: reason})
}

// atProduct is a flush that waits for the product to go in.
func atProduct(t *testing.T) *walk {
	t.Helper()
	k := atStrip(t)
	k.text("3 7.4 100")
	k.text("done")
	require.Equal(t, "add_product", k.c.Service.State)
	return k
}

func TestANewVolumeVoidsTheDose(t *testing.T) {
	k := atProduct(t)
	old := k.c.Service.Advised["flush_product"]
	k.after(time.Minute).set(conversation.FactVolume, "250", "the plate says 250")
	require.Contains(t, k.trail(), "Dana set the volume to 250 gallons (was 375 gallons). Reason: the plate says 250")
	require.Contains(t, k.said(), "That changes the dose")
	d := k.c.Service.Advised["flush_product"]
	require.Equal(t, 250.0, d.USGal)
	require.Less(t, d.Spoons, old.Spoons)
	require.Equal(t, "staff", k.c.Tub.VolumeBy)
}

func TestANewVolumeWhileAPersonHasItVoidsTheDoseQuietly(t *testing.T) {
	for _, then := range []string{conversation.HandBack, conversation.CloseIt} {
		k := atProduct(t)
		k.text("I want to talk to a person")
		k.staff(conversation.StaffAction{Act: conversation.Claim})
		k.set(conversation.FactVolume, "250", "measured")
		require.Empty(t, k.out)
		require.Empty(t, k.c.Service.Advised)
		k.staff(conversation.StaffAction{Act: then, Text: "sorted out"})
		require.Equal(t, 250.0, k.c.Service.Advised["flush_product"].USGal, then)
		require.Contains(t, k.said(), "2 1/2 level teaspoons", then)
	}
}

func TestAVolumeTheServiceAskedFor(t *testing.T) {
	k := newWalk(world(t))
	k.text("FLUSH")
	require.Equal(t, "volume", k.c.Service.State)
	k.set(conversation.FactVolume, "400", "from the receipt")
	require.NotEqual(t, "volume", k.c.Service.State)
	k.set(conversation.FactSanitizer, "bromine", "they buy it here")
	require.Equal(t, "bromine", k.c.Tub.Sanitizer)
	require.Equal(t, "product", k.c.Service.State, "what is known is not asked")
}

func TestAnotherSanitizerVoidsItsDoses(t *testing.T) {
	k := atStrip(t)
	k.text("4 8.0 100")
	k.text("1")
	require.NotEmpty(t, k.c.Service.Advised["balance"].Measure)
	k.set(conversation.FactSanitizer, "bromine", "it is a bromine tub")
	require.NotEqual(t, "chlorine", k.c.Tub.Sanitizer)
	require.Contains(t, k.trail(), "No longer advised")
}

func TestRatesMoveTheWaitsWorkedOutFromThem(t *testing.T) {
	k := newWalk(world(t))
	k.c.Tub.VolumeUSGal, k.c.Tub.Sanitizer = 400, "chlorine"
	k.text("REFILL")
	k.staff(conversation.StaffAction{Act: conversation.HandBack, State: "refill"})
	k.text("done")
	require.Equal(t, "filling", k.c.Service.State)
	due := k.next()
	k.set(conversation.FactHose, "3", "a thin hose")
	require.Equal(t, 3.0, k.c.Tub.HoseGPM)
	require.Contains(t, k.trail(), "Dana set the hose to 3 gal/min (was not known). Reason: a thin hose")
	require.True(t, k.next().After(due), "half the flow takes longer")
	require.Contains(t, k.trail(), "The wait about full now ends")
}

// next is when the next wait ends.
func (k *walk) next() (at time.Time) {
	for name, p := range k.c.Service.Timers {
		if name != "silence" && (at.IsZero() || p.Due.Before(at)) {
			at = p.Due
		}
	}
	return at
}

func TestFactsThatCannotBe(t *testing.T) {
	for _, c := range []struct{ fact, value, reason string }{
		{conversation.FactVolume, "5", "x"}, {conversation.FactVolume, "NaN", "x"}, {conversation.FactVolume, "1e9", "x"},
		{conversation.FactVolume, "250", " "}, {conversation.FactSanitizer, "salt", "x"}, {conversation.FactHeater, "-1", "x"},
		{conversation.FactHose, "many", "x"}, {"colour", "blue", "x"},
	} {
		k := atProduct(t)
		before := asJSON(t, k.c.Tub)
		k.set(c.fact, c.value, c.reason)
		require.Equal(t, before, asJSON(t, k.c.Tub), c)
		require.Contains(t, k.trail(), "nothing was changed")
		require.Empty(t, k.out)
	}
	require.Empty(t, conversation.CheckFact(conversation.FactPump, "2000"))
	require.Equal(t, "It has to be a number from 50 to 2500.", conversation.CheckFact(conversation.FactVolume, "12"))
}
