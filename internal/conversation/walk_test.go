package conversation_test

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tubhand/flows"
	"tubhand/internal/conversation"
	"tubhand/internal/flow"
	"tubhand/internal/shop"
	"tubhand/internal/understand"
	"tubhand/internal/wording"
	"tubhand/templates"
)

func world(tb testing.TB) *conversation.World {
	tb.Helper()
	set, err := flow.Load(flows.FS)
	require.NoError(tb, err)
	words, err := wording.Load(templates.FS)
	require.NoError(tb, err)
	w, err := conversation.NewWorld(shop.Demo().Shop, set, words)
	require.NoError(tb, err)
	return w
}

var start = time.Date(2026, 6, 13, 16, 0, 0, 0, time.UTC)

const address = "+15415550142"

// walk is one conversation with an owner who may do anything, and what it has shown.
type walk struct {
	w       *conversation.World
	decide  decider
	c       conversation.Conversation
	now     time.Time
	n       int
	pending []conversation.Reminder
	out     []conversation.Line // of the last turn
	fx      conversation.Effects
}

func newWalk(w *conversation.World) *walk {
	return &walk{w: w, decide: w.Decide, now: start, c: conversation.Conversation{
		Shop: w.Shop().Key, ID: address,
		Owner: conversation.Owner{Addresses: []string{address}, TimeZone: "America/Los_Angeles", Region: "US"},
	}}
}

// do runs one turn as the turn runner and a store would.
func (k *walk) do(ev conversation.Event) {
	k.n++
	if ev.ID == "" {
		ev.ID = fmt.Sprint("e", k.n)
	}
	ev.From = address
	next, fx := k.decide(k.c, ev, k.now)
	next.Version++
	k.c, k.fx = next, fx
	k.pending = append(k.pending, fx.Remind...)
	k.pending = slices.DeleteFunc(k.pending, func(r conversation.Reminder) bool {
		return slices.Contains(fx.Cancel, r.ID) || r.ID == ev.ID
	})
	k.out = slices.DeleteFunc(slices.Clone(fx.Lines), func(l conversation.Line) bool { return !l.Send || l.Class == conversation.ClassPage })
}

func (k *walk) text(s string) { k.do(conversation.Event{Kind: conversation.TextIn, Text: s}) }

// fire lets the next reminder fire; false when none is set.
func (k *walk) fire() bool {
	if len(k.pending) == 0 {
		return false
	}
	r := slices.MinFunc(k.pending, func(a, b conversation.Reminder) int { return a.Due.Compare(b.Due) })
	if r.Due.After(k.now) {
		k.now = r.Due
	}
	k.do(conversation.Event{ID: r.ID, Kind: conversation.ReminderDue, Reminder: r})
	return true
}

// heard tells whether the last turn was an owner's text.
func (k *walk) heard() bool {
	return slices.ContainsFunc(k.fx.Lines, func(l conversation.Line) bool { return l.Direction == conversation.In })
}

func (k *walk) said() string {
	var all []string
	for _, l := range k.out {
		all = append(all, l.Text)
	}
	return strings.Join(all, "\n")
}

// vocabulary is what the random owner texts.
var vocabulary = []string{
	"flush my pipes", "done", "yes", "no", "1", "2", "3", "375 gallons", "250 gallons", "1400 liters", "chlorine",
	"3 7.4 100", "4 7.4 100 100", "15 7.4 100", "1 7.0 60 99", "0", "4 8.0 100 104", "too much foam", "it won't come off",
	"no water comes out of the jets", "go back", "why", "how much", "how long", "not yet", "need more time", "can't finish today",
	"i put in too much", "wrong product", "breaker tripped", "leak under the tub", "person please", "thanks", "hello", "START",
	"the water is cloudy", "chlorine 9, ph 6.7, alkalinity 220", "free chlorine 5, total chlorine 2", "free chlorine 4, total chlorine 5, ph 7.4, alkalinity 100",
	"pump", "not sure", "error code FLO", "", "🙂", "quiero hablar con alguien",
}

func step(t *rapid.T, k *walk) {
	k.out, k.fx = nil, conversation.Effects{}
	switch rapid.IntRange(0, 11).Draw(t, "what") {
	case 0, 1:
		k.fire()
	case 2:
		k.now = k.now.Add(time.Duration(rapid.IntRange(1, 240).Draw(t, "minutes")) * time.Minute)
	case 3:
		if rapid.Bool().Draw(t, "on the tub") {
			k.do(conversation.Event{Kind: conversation.StaffAct, Staff: actOnTub(t, k)})
			return
		}
		k.do(conversation.Event{Kind: conversation.StaffAct, Staff: conversation.StaffAction{
			Act: rapid.SampledFrom([]string{conversation.Claim, conversation.HandBack, conversation.CloseIt, conversation.Reply, conversation.NoteIt}).Draw(t, "act"),
			By:  "dana", Text: "Hi, Dana here.",
		}})
	default:
		k.text(rapid.SampledFrom(vocabulary).Draw(t, "text"))
	}
}

// actOnTub is something that a member of staff may do to the tub, its tests and timers.
func actOnTub(t *rapid.T, k *walk) conversation.StaffAction {
	a := conversation.StaffAction{By: "dana", Reason: "looked at it", At: k.now.Add(time.Duration(rapid.IntRange(-180, 180).Draw(t, "at")) * time.Minute)}
	a.Act = rapid.SampledFrom([]string{conversation.Correct, conversation.SetFact, conversation.MoveTimer, conversation.DropTimer, conversation.FireTimer, conversation.Pause, conversation.Speak}).Draw(t, "act on tub")
	a.Fact = rapid.SampledFrom([]string{conversation.FactVolume, conversation.FactVolume, conversation.FactSanitizer, conversation.FactHose}).Draw(t, "fact")
	a.Value = rapid.SampledFrom([]string{"250", "375", "3", "chlorine", "bromine", "es", "en"}).Draw(t, "value")
	if len(k.pending) > 0 {
		a.Reminder = rapid.SampledFrom(k.pending).Draw(t, "reminder").ID
	}
	a.Readings = rapid.SampledFrom([]conversation.Readings{
		readings("ph", 7.4, "free_chlorine_ppm", 4.0, "total_alkalinity_ppm", 100.0), readings("ph", 8.0), readings("free_chlorine_ppm", 15.0),
		readings("free_chlorine_ppm", 5.0, "total_chlorine_ppm", 2.0), readings("water_temp_f", 100.0, "ph", 7.2, "free_chlorine_ppm", 3.0),
	}).Draw(t, "readings")
	return a
}

// TestDecideIsPure: the input stays as it was, and deciding again gives the same.
func TestDecideIsPure(t *testing.T) {
	w := world(t)
	rapid.Check(t, func(t *rapid.T) {
		k := newWalk(w)
		for range rapid.IntRange(1, 40).Draw(t, "steps") {
			step(t, k)
		}
		ev := conversation.Event{ID: "last", Kind: conversation.TextIn, From: address, Text: rapid.SampledFrom(vocabulary).Draw(t, "last")}
		before := asJSON(t, k.c)
		c1, fx1 := w.Decide(k.c, ev, k.now)
		require.Equal(t, before, asJSON(t, k.c), "Decide changed what it was given")
		c2, fx2 := w.Decide(k.c, ev, k.now)
		require.Equal(t, asJSON(t, c1), asJSON(t, c2))
		require.Equal(t, asJSON(t, fx1), asJSON(t, fx2))
	})
}

func asJSON(t require.TestingT, v any) string {
	b, err := json.Marshal(v)
	require.NoError(t, err)
	return string(b)
}

// TestWhateverAnOwnerDoes walks at random and holds what must hold after every turn.
func TestWhateverAnOwnerDoes(t *testing.T) {
	w := world(t)
	rapid.Check(t, func(t *rapid.T) {
		k := newWalk(w)
		added := 0
		for range rapid.IntRange(1, 60).Draw(t, "steps") {
			step(t, k)
			for _, l := range k.fx.Log {
				if l.Kind == "added" && l.Name == "flush_product" {
					added++
				}
				if l.Kind == "state" && l.Name == "volume" {
					added = 0 // a new run
				}
				if l.Dose != nil && l.Kind == "advised" {
					require.Positive(t, k.c.Tub.VolumeUSGal, "a dose for an unknown volume: %+v", l)
				}
			}
			require.LessOrEqual(t, added, 1, "a second flush dose")
			holds(t, k)
		}
	})
}

func holds(t *rapid.T, k *walk) {
	ids := map[string]bool{}
	for _, l := range k.fx.Lines {
		require.False(t, ids[l.ID], "two lines with one id")
		ids[l.ID] = true
	}
	for _, l := range k.out {
		require.NotEmpty(t, strings.TrimSpace(l.Text))
		require.NotContains(t, l.Text, "  ", "a word is missing in %q", l.Text)
	}
	require.LessOrEqual(t, k.c.Doubts, 1, "asked again more than once")
	require.LessOrEqual(t, len(k.c.Tub.Past), 16)
	if s := k.c.Service; s != nil {
		require.NotEmpty(t, s.State)
		if k.c.Hold == nil && !k.c.OptedOut && len(k.c.Open) == 0 {
			require.Contains(t, s.Timers, "silence", "in %s/%s nothing would ever happen again", s.Flow, s.State)
		}
		require.Len(t, k.pending, len(s.Timers)+len(k.c.Pages), "reminders in the store and in the state differ")
	} else {
		require.Len(t, k.pending, len(k.c.Pages), "a reminder outlived its service")
	}
	if strings.Contains(k.said(), "You can soak") {
		require.True(t, k.c.Tub.Cloudy.IsZero() && k.c.Tub.Ill.IsZero(), "soaking in cloudy water, or after an illness")
		require.NotContains(t, k.c.Tub.Aimed, understand.CombinedChlorine, "soaking on combined chlorine nobody measured again")
		require.Contains(t, k.c.Tub.Readings, understand.PH)
		for q, m := range k.c.Tub.Readings {
			if q == "free_chlorine_ppm" || q == "ph" || q == "water_temp_f" {
				require.LessOrEqual(t, k.now.Sub(m.At), 2*time.Hour, "soaking on an old reading")
				require.False(t, m.At.Before(k.c.Tub.LastAddition.Add(15*time.Minute)), "soaking on a reading from before it mixed")
			}
		}
	}
}

// TestEmergencyFromAnywhere: wherever a conversation has got to, danger is answered in
// the same turn, with the number, with nothing of the service, and reaches staff.
func TestEmergencyFromAnywhere(t *testing.T) {
	w := world(t)
	rapid.Check(t, func(t *rapid.T) {
		k := newWalk(w)
		for range rapid.IntRange(0, 50).Draw(t, "steps") {
			step(t, k)
		}
		if rapid.Bool().Draw(t, "opted out") {
			k.text("STOP")
		}
		k.text("she can't breathe, there was a cloud of gas when he poured it")
		require.Contains(t, k.said(), "911")
		require.NotContains(t, k.said(), "DONE")
		found := slices.ContainsFunc(k.fx.Handovers, func(h conversation.Handover) bool { return h.Severity == "emergency" })
		require.True(t, found, "no handover in %+v", k.fx.Handovers)
		require.NotNil(t, k.c.Hold)
	})
}

// TestAfterStopNothingGoesOut but the one confirmation.
func TestAfterStopNothingGoesOut(t *testing.T) {
	w := world(t)
	rapid.Check(t, func(t *rapid.T) {
		k := newWalk(w)
		for range rapid.IntRange(0, 40).Draw(t, "steps") {
			step(t, k)
		}
		if k.c.OptedOut {
			return
		}
		k.text("stop")
		require.Len(t, k.out, 1)
		require.True(t, k.fx.DropUnsent)
		for range 20 {
			before := k.c.OptedOut
			step(t, k)
			if !k.c.OptedOut {
				require.True(t, before)
				return // they texted START
			}
			for _, l := range k.out {
				require.Equal(t, conversation.ClassSafety, l.Class, "said after STOP: %s", l.Text)
			}
		}
	})
}
