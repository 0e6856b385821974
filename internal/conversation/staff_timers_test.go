package conversation_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
)

// waiting gives the pending timer of a name.
func (k *walk) waiting(name string) conversation.Pending {
	for key, p := range k.c.Service.Timers {
		if key == name {
			return p
		}
	}
	return conversation.Pending{}
}

const soakOver = "timer:flush_plumbing/soak/soak_over"

func (k *walk) timer(act, id string, at time.Time) {
	k.staff(conversation.StaffAction{Act: act, Reminder: id, At: at})
}

func TestAGuardedWaitIsPutOffOnlyByWhoHasTheConversation(t *testing.T) {
	k := atSoak(t)
	p := k.waiting(soakOver)
	require.True(t, conversation.Guarded(k.w.Flows(), &k.c, soakOver), "product is in the water")
	k.timer(conversation.DropTimer, p.ID, time.Time{})
	require.Contains(t, k.trail(), "needs watching; take the conversation first")
	require.Equal(t, p, k.waiting(soakOver))
	k.timer(conversation.MoveTimer, p.ID, p.Due.Add(3*time.Hour))
	require.Contains(t, k.trail(), "needs watching")
	require.Equal(t, p, k.waiting(soakOver))

	k.timer(conversation.MoveTimer, p.ID, p.Due.Add(-10*time.Minute))
	require.Equal(t, p.Due.Add(-10*time.Minute), k.waiting(soakOver).Due, "earlier is safe")
	require.Contains(t, k.said(), "Dana has moved the time. 20 minutes to go")

	k.staff(conversation.StaffAction{Act: conversation.Pause})
	p = k.waiting(soakOver)
	k.timer(conversation.MoveTimer, p.ID, p.Due.Add(3*time.Hour))
	require.Equal(t, p.Due.Add(3*time.Hour), k.waiting(soakOver).Due)
	require.Empty(t, k.out, "while a person has it they say it themselves")
	k.timer(conversation.DropTimer, k.waiting(soakOver).ID, time.Time{})
	require.Empty(t, k.waiting(soakOver).ID)
	require.Contains(t, k.trail(), "Dana canceled the wait soak over")
	k.staff(conversation.StaffAction{Act: conversation.HandBack})
	require.NotEmpty(t, k.waiting(soakOver).ID, "going on sets it again")
}

func TestNoLookAtASilentOwnerIsTakenAway(t *testing.T) {
	k := atStrip(t)
	p := k.waiting("silence")
	require.False(t, conversation.Guarded(k.w.Flows(), &k.c, "silence"), "nothing can go wrong there")
	k.timer(conversation.DropTimer, p.ID, time.Time{})
	require.Contains(t, k.trail(), "nobody would notice a silent owner")
	require.Equal(t, p, k.waiting("silence"))
	k.timer(conversation.MoveTimer, p.ID, p.Due.Add(2*time.Hour))
	require.Equal(t, p.Due.Add(2*time.Hour), k.waiting("silence").Due)
	require.Empty(t, k.out)
}

func TestATimerAtOnce(t *testing.T) {
	k := atSoak(t)
	p := k.waiting(soakOver)
	k.after(5*time.Minute).timer(conversation.FireTimer, p.ID, time.Time{})
	require.Contains(t, k.said(), "Jets OFF")
	require.Contains(t, k.trail(), "Dana had the wait soak over at once")
	require.Contains(t, k.fx.Cancel, p.ID, "and not again at its time")
	k.timer(conversation.FireTimer, p.ID, time.Time{})
	require.Contains(t, k.trail(), "not pending any more")
	require.Empty(t, k.out)
}

func TestNothingFiresUnderAPersonsHands(t *testing.T) {
	k := atSoak(t)
	k.staff(conversation.StaffAction{Act: conversation.Pause})
	p := k.waiting(soakOver)
	k.timer(conversation.FireTimer, p.ID, time.Time{})
	require.Contains(t, k.trail(), "nothing goes out while the service is on hold")
	require.Equal(t, p, k.waiting(soakOver))
}

func TestCallsForStaffGoOnUntilTaken(t *testing.T) {
	k := held(t)
	p := k.c.Pages[0].Next
	require.NotEmpty(t, p.ID)
	k.timer(conversation.DropTimer, p.ID, time.Time{})
	require.Contains(t, k.trail(), "calls for staff go on until somebody takes the case")
	k.timer(conversation.MoveTimer, p.ID, k.now.Add(time.Minute))
	require.Contains(t, k.trail(), "calls for staff go on")
	require.Equal(t, p, k.c.Pages[0].Next)
	k.timer(conversation.FireTimer, p.ID, time.Time{})
	require.NotEqual(t, p, k.c.Pages[0].Next, "the next person is called now")
}

func TestTimesThatCannotBe(t *testing.T) {
	k := atSoak(t)
	p := k.waiting(soakOver)
	for _, at := range []time.Time{{}, k.now.Add(-time.Minute), k.now.Add(30 * 24 * time.Hour)} {
		k.timer(conversation.MoveTimer, p.ID, at)
		require.Equal(t, p, k.waiting(soakOver))
	}
	k.timer(conversation.MoveTimer, "", k.now.Add(time.Minute))
	k.timer(conversation.DropTimer, "gone", time.Time{})
	require.Equal(t, p, k.waiting(soakOver))
}

func TestPauseIsOnePersons(t *testing.T) {
	k := atSoak(t)
	k.staff(conversation.StaffAction{Act: conversation.Pause, Reason: "she phoned"})
	require.Equal(t, "dana", k.c.Hold.By)
	require.Contains(t, k.trail(), "Dana took the conversation. Reason: she phoned")
	k.text("hello?")
	require.Empty(t, k.out, "the assistant is quiet")
	k.staff(conversation.StaffAction{Act: conversation.Pause})
	require.Empty(t, k.fx.Lines, "once is enough")
	k.staff(conversation.StaffAction{Act: conversation.Pause, By: "luis"})
	require.Equal(t, "luis", k.c.Hold.By)
	k.text("is anyone hurt? my son can't breathe")
	require.Contains(t, k.said(), "911", "a danger is answered all the same")
}

func TestTheOwnersLanguage(t *testing.T) {
	k := atStrip(t)
	k.staff(conversation.StaffAction{Act: conversation.Speak, Value: "es"})
	require.Equal(t, "es", k.c.Owner.Language)
	require.Contains(t, k.said(), "prueba")
	require.Contains(t, k.trail(), "Dana changed the language to es")
	k.staff(conversation.StaffAction{Act: conversation.Speak, Value: "tlh"})
	require.Equal(t, "es", k.c.Owner.Language)
}
