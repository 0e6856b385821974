package conversation_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
	"tubhand/internal/understand"
)

// tested is an owner between services whose tub was tested just now.
func tested(w *conversation.World, strip string) *walk {
	k := newWalk(w)
	k.c.Tub.VolumeUSGal, k.c.Tub.Sanitizer = 375, "chlorine"
	k.text("hello")
	k.text(strip)
	return k
}

func (k *walk) after(d time.Duration) *walk { k.now = k.now.Add(d); return k }

const strip = "chlorine 4, ph 7.4, alkalinity 100"

func TestOnlyWhatIsFarOutsideTheForecastIsAskedAgain(t *testing.T) {
	w := world(t)
	for _, c := range []struct {
		name  string
		after time.Duration
		text  string
		asks  string // "" believed
	}{
		{"the same again", time.Hour, strip, ""},
		{"a pad's step in everything", time.Hour, "chlorine 3, ph 7.8, alkalinity 140", ""},
		{"two pads of alkalinity", time.Hour, "chlorine 4, ph 7.4, alkalinity 220", "Alkalinity 220?"},
		{"alkalinity gone", time.Hour, "chlorine 4, ph 7.4, alkalinity 0", ""}, // unsafe: a person's at once
		{"chlorine used up by bathers", time.Hour, "chlorine 0, ph 7.4, alkalinity 100", ""},
		{"chlorine from nowhere", time.Hour, "chlorine 9.5, ph 7.4, alkalinity 100", "Free chlorine 9.5?"},
		{"chlorine the owner added the next day", 24 * time.Hour, "chlorine 9.5, ph 7.4, alkalinity 100", ""},
		{"pH that rose with the jets on", 2 * time.Hour, "chlorine 4, ph 8.0, alkalinity 100", ""},
		{"pH that fell with nothing added", time.Hour, "chlorine 4, ph 6.6, alkalinity 100", "pH 6.6?"},
		{"days later nothing is held against anyone", 80 * time.Hour, "chlorine 9.5, ph 6.6, alkalinity 220", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			k := tested(w, strip).after(c.after)
			k.text(c.text)
			if c.asks == "" {
				require.NotContains(t, k.said(), "once more with a new strip")
				return
			}
			require.Contains(t, k.said(), c.asks)
			require.Contains(t, k.said(), "nobody in the water")
			require.Empty(t, k.c.Open)
			k.text(c.text)
			require.Equal(t, "odd_reading", k.c.Open[0].Cause, "the second time a person looks")
			require.NotNil(t, k.c.Hold)
		})
	}
}

func TestADoubtedReadingNoLongerCounts(t *testing.T) {
	k := tested(world(t), strip).after(time.Hour)
	require.Contains(t, k.c.Tub.Readings, understand.TotalAlkalinity)
	k.text("alkalinity 220")
	require.NotContains(t, k.c.Tub.Readings, understand.TotalAlkalinity, "neither the old nor the doubted value")
	require.Contains(t, k.c.Tub.Readings, understand.PH)
	k.text("alkalinity 110")
	require.Contains(t, k.c.Tub.Readings, understand.TotalAlkalinity)
	require.Zero(t, k.c.Doubts)
}

func TestNothingIsDoubtedWithoutAPast(t *testing.T) {
	w := world(t)
	for name, prepare := range map[string]func(k *walk){
		"nothing was read yet": func(k *walk) { k.c.Tub.Past = nil },
		"the owner put in too much": func(k *walk) {
			k.text("I put in too much chlorine")
			k.c.Hold = nil
		},
		"a person had the conversation": func(k *walk) {
			k.text("I want to talk to a person")
			k.do(conversation.Event{Kind: conversation.StaffAct, Staff: conversation.StaffAction{Act: conversation.Claim, By: "dana"}})
			k.do(conversation.Event{Kind: conversation.StaffAct, Staff: conversation.StaffAction{Act: conversation.HandBack, By: "dana"}})
		},
	} {
		t.Run(name, func(t *testing.T) {
			k := tested(w, strip)
			require.NotEmpty(t, k.c.Tub.Past)
			prepare(k)
			require.Empty(t, k.c.Tub.Past)
			k.after(time.Hour).text("chlorine 4, ph 7.4, alkalinity 220")
			require.NotContains(t, k.said(), "new strip")
		})
	}
}

// TestChangedWaterStartsAnew runs a whole flush: what was read from the old water is
// neither held against the new nor does it clear it.
func TestChangedWaterStartsAnew(t *testing.T) {
	k := newWalk(world(t))
	k.c.Tub.VolumeUSGal, k.c.Tub.Sanitizer = 375, "chlorine"
	for _, text := range []string{"FLUSH", "yes", "yes", "yes", "pump", "1", "no", "3 7.4 180", "done", "done"} {
		k.text(text)
	}
	require.Equal(t, "soak", k.c.Service.State)
	require.Empty(t, k.c.Tub.Past, "nobody knows what flush product does to a reading")
	for k.c.Service.State != "wipe" {
		require.True(t, k.fire())
	}
	for _, text := range []string{"done", "done"} {
		k.text(text)
	}
	require.Equal(t, "drain", k.c.Service.State)
	require.Equal(t, k.now, k.c.Tub.Changed)
	for _, text := range []string{"done", "no", "done", "done", "done", "done", "done", "yes"} {
		k.text(text)
	}
	require.Equal(t, "sanitize", k.c.Service.State)
	k.text("done")
	require.Len(t, k.c.Tub.Past, 1, "the start-up dose is the first that is known of the new water")
	k.after(time.Hour).text("4 7.8 60 100")
	require.NotContains(t, k.said(), "new strip")
	require.Empty(t, k.c.Open)
}

// TestABleachedStripAfterABigDose: the log leads to far more chlorine than a strip can
// show, and it shows none.
func TestABleachedStripAfterABigDose(t *testing.T) {
	k := tested(world(t), strip)
	k.c.Tub.Past = append(k.c.Tub.Past, conversation.Past{At: k.now, Chemical: "sodium_hypochlorite_12_5", Grams: 120})
	k.after(time.Hour).text("chlorine 0, ph 7.4, alkalinity 100")
	require.Contains(t, k.said(), "bleach")
	require.NotContains(t, k.said(), "teaspoon", "nothing is dosed on it")
}

func TestThePastIsBounded(t *testing.T) {
	k := tested(world(t), strip)
	for range 40 {
		k.after(time.Hour).text(strip)
	}
	require.LessOrEqual(t, len(k.c.Tub.Past), 16)
	k.after(100 * time.Hour).text(strip)
	require.Len(t, k.c.Tub.Past, 1)
}

// BenchmarkDoubt is a turn with a strip reading and a full past.
func BenchmarkDoubt(b *testing.B) {
	w := world(b)
	k := tested(w, strip)
	for range 16 {
		k.after(time.Hour).text(strip)
	}
	for b.Loop() {
		w.Decide(k.c, conversation.Event{ID: "x", Kind: conversation.TextIn, From: address, Text: strip}, k.now.Add(time.Hour))
	}
}

// TestAnswersThatCannotBeUsedReachAPerson: asked back twice, the third time a person looks.
func TestAnswersThatCannotBeUsedReachAPerson(t *testing.T) {
	k := held(t)
	k.staff(conversation.StaffAction{Act: conversation.HandBack, State: "strip"})
	for range 2 {
		k.text("ph 55, alkalinity 100")
		require.Contains(t, k.said(), "I want to be sure")
		require.Empty(t, k.c.Open)
	}
	k.text("ph 55, alkalinity 100")
	require.Equal(t, "not_understood", k.c.Open[0].Cause)
}
