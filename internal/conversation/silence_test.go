package conversation_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/flows"
	"tubhand/internal/conversation"
	"tubhand/internal/flow"
)

// atBlowOut is a flush at the moment with the power on over low water.
func atBlowOut(t *testing.T) *walk {
	t.Helper()
	k := atSoak(t)
	k.until(t, "wipe")
	for _, text := range []string{"done", "done", "done", "yes"} {
		k.text(text)
	}
	require.Equal(t, "blow_out", k.c.Service.State)
	return k
}

// quietUntilAPerson lets time pass until the silence has reached a person.
func (k *walk) quietUntilAPerson(t *testing.T) {
	t.Helper()
	for len(k.c.Open) == 0 {
		require.True(t, k.fire(), "silence ends nowhere")
	}
}

func TestSilenceAtADangerousMomentHoldsTheService(t *testing.T) {
	for name, c := range map[string]struct {
		at    func(t *testing.T) *walk
		cause string
		told  string
		back  string
	}{
		"power on and the water low": {atBlowOut, "power_left_on", "turn the power OFF", "Power OFF at the breaker"},
		"product in the water": {func(t *testing.T) *walk {
			k := atSoak(t)
			k.until(t, "wipe")
			return k
		}, "product_in_water", "Nobody in the water", "flush product is in it"},
		"half drained": {func(t *testing.T) *walk {
			k := atBlowOut(t)
			k.text("done")
			k.text("yes")
			require.Equal(t, "drain_rest", k.c.Service.State)
			return k
		}, "half_drained", "freeze", "freeze"},
		"empty": {func(t *testing.T) *walk {
			k := atBlowOut(t)
			for _, text := range []string{"done", "yes", "done"} {
				k.text(text)
			}
			require.Equal(t, "rinse_filters", k.c.Service.State)
			return k
		}, "tub_empty", "freeze", "freeze"},
	} {
		t.Run(name, func(t *testing.T) {
			k := c.at(t)
			k.quietUntilAPerson(t)
			state := k.c.Service.State
			require.Equal(t, c.cause, k.c.Open[0].Cause)
			require.Contains(t, k.said(), c.told)
			require.NotNil(t, k.c.Hold)
			require.NotEmpty(t, k.c.Pages, "somebody is being called")

			k.text("done")
			require.Equal(t, state, k.c.Service.State, "no step without a person")
			require.Contains(t, k.said(), "Good to hear from you")
			require.Contains(t, k.said(), c.back)
			require.Contains(t, k.c.Open[0].Facts, `they wrote "done"`, "who takes it sees that they are back")
			k.text("yes")
			require.Empty(t, k.out, "said once")

			k.staff(conversation.StaffAction{Act: conversation.Claim})
			k.staff(conversation.StaffAction{Act: conversation.HandBack})
			require.Nil(t, k.c.Hold)
			require.Equal(t, state, k.c.Service.State)
		})
	}
}

// TestSilenceWithNothingAtStakeHoldsNothing: an owner who comes back goes on.
func TestSilenceWithNothingAtStakeHoldsNothing(t *testing.T) {
	k := newWalk(world(t))
	k.c.Tub.VolumeUSGal, k.c.Tub.Sanitizer = 375, "chlorine"
	k.text("FLUSH")
	k.quietUntilAPerson(t)
	require.Equal(t, "went_quiet", k.c.Open[0].Cause)
	require.Nil(t, k.c.Hold)
	k.text("yes")
	require.Equal(t, "today", k.c.Service.State)
}

// TestADangerStillCountsWhileSilenceHolds: the hold hides nothing.
func TestADangerStillCountsWhileSilenceHolds(t *testing.T) {
	k := atBlowOut(t)
	k.quietUntilAPerson(t)
	k.text("I got an electric shock from the water")
	require.Contains(t, k.said(), "911")
	k.text("STOP")
	require.True(t, k.c.OptedOut)
	require.Len(t, k.out, 1)
}

// TestEveryDangerousStateFallsSilentToAPersonSoon holds the flow files to it: where
// something can go wrong, silence calls somebody, and does not wait for the next day.
func TestEveryDangerousStateFallsSilentToAPersonSoon(t *testing.T) {
	set, err := flow.Load(flows.FS)
	require.NoError(t, err)
	for _, name := range set.Names() {
		f, _ := set.Flow(name)
		for _, s := range f.States {
			if found, _ := f.State(f.Start); found.Tub == s.Tub && s.Tub.Product != "in" {
				continue // as it was before: a tub that stood empty all winter can wait
			}
			if s.End || s.Tub.Product != "in" && (s.Tub.Water == "full" || s.Tub.Water == "same") {
				continue
			}
			policy := f.SilenceOf(s)
			require.NotNil(t, policy, s.Name)
			require.Equal(t, "person_soon", policy.Severity, "%s/%s", name, s.Name)
			require.LessOrEqual(t, time.Duration(policy.Person), 4*time.Hour, "%s/%s", name, s.Name)
		}
	}
}

// late is a Saturday evening; the shop opens again on Monday at nine.
var late = time.Date(2026, 6, 14, 3, 30, 0, 0, time.UTC)

func TestOutsideHoursOwnersAreToldWhenSomeoneIsThere(t *testing.T) {
	w := world(t)
	const when, emergencies = "They open Monday at 9 am.", "Emergencies are not for this line: call 911."
	for text, told := range map[string]bool{
		"I want to talk to a person":                    true,
		"there is a leak under the tub":                 true,
		"the drain cover is broken":                     true,
		"I mixed the chlorine with the acid by mistake": true,
		"he is unconscious in the tub":                  false, // the call for help stands alone
		"STOP":                                          false,
		"thanks":                                        false,
	} {
		t.Run(text, func(t *testing.T) {
			k := newWalk(w)
			k.now = late
			k.text(text)
			require.Equal(t, told, containsAll(k.said(), when, emergencies), k.said())
			k.text(text)
			require.NotContains(t, k.said(), emergencies, "said once for a case")

			k = newWalk(w).after(2 * time.Hour)
			k.text(text)
			require.NotContains(t, k.said(), "closed now", "the shop is open")
		})
	}
}

func TestOutsideHoursInSpanish(t *testing.T) {
	k := newWalk(world(t))
	k.now, k.c.Owner.Language = late, "es"
	k.text("quiero hablar con una persona")
	require.Contains(t, k.said(), "Abren el lunes a las 9 am.")
	require.Contains(t, k.said(), "llame al 911")
}

// TestOutsideHoursElsewhere: where the emergency number is not known none is made up.
func TestOutsideHoursElsewhere(t *testing.T) {
	k := newWalk(world(t))
	k.now, k.c.Owner.Region = late, "ZZ"
	k.text("I want to talk to a person")
	require.Contains(t, k.said(), "call your local emergency number")
}

func containsAll(s string, parts ...string) bool {
	for _, p := range parts {
		if !strings.Contains(s, p) {
			return false
		}
	}
	return true
}

// TestAReminderThatIsGivenUpReachesAPerson: the owner waits for it, and nobody else knows.
func TestAReminderThatIsGivenUpReachesAPerson(t *testing.T) {
	k := atSoak(t)
	r := k.pending[slices.IndexFunc(k.pending, func(r conversation.Reminder) bool { return strings.HasPrefix(r.Name, "timer:") })]
	k.after(31 * time.Minute).do(conversation.Event{ID: r.ID, Kind: conversation.ReminderDead, Reminder: r})
	require.Equal(t, "reminder_failed", k.c.Open[0].Cause)
	require.NotContains(t, k.c.Service.Timers, r.Name)
	require.NotEmpty(t, k.c.Pages)
	require.Empty(t, k.out, "nothing is said that might break off again")
}

// TestNobodyInFearIsLeftWithoutAWord: after an emergency, who writes on before a person has
// answered is told whom to call, and nothing of the service.
func TestNobodyInFearIsLeftWithoutAWord(t *testing.T) {
	for language, want := range map[string]string{"en": "call 911 now", "es": "llame al 911 ya"} {
		k := atSoak(t)
		k.c.Owner.Language = language
		k.text("my husband is unconscious in the tub")
		k.text("ok")
		require.Empty(t, k.out, "the answer has just gone out")
		k.after(3 * time.Minute).text("ok")
		require.Contains(t, k.said(), want)
		require.NotContains(t, k.said(), "DONE")
		k.text("ok")
		require.Empty(t, k.out)
		k.staff(conversation.StaffAction{Act: conversation.Claim})
		k.after(time.Hour).text("ok")
		require.Empty(t, k.out, "a person has it")
	}
}
