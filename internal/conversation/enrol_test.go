package conversation_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
)

// enrol has Dana put an owner down.
func (k *walk) enrol(o conversation.Enrolment) {
	k.staff(conversation.StaffAction{Act: conversation.Enrol, Owner: o})
}

func TestAnOwnerWhomStaffAdd(t *testing.T) {
	k := newWalk(world(t))
	k.enrol(conversation.Enrolment{Name: " Ada Lindqvist ", Language: "es", VolumeUSGal: 375, Sanitizer: "bromine", Told: "asked at the counter"})
	require.Empty(t, k.out, "nothing goes out unasked")
	require.Equal(t, "Ada Lindqvist", k.c.Owner.Name)
	require.Equal(t, "es", k.c.Owner.Language)
	require.Equal(t, []any{375.0, "staff", "bromine"}, []any{k.c.Tub.VolumeUSGal, k.c.Tub.VolumeBy, k.c.Tub.Sanitizer})
	require.Equal(t, []conversation.Agreement{{
		At: k.now, Address: address, How: conversation.ByStaff, For: conversation.ForReplies, Given: true, Wording: "asked at the counter", By: "dana",
	}}, k.c.Consent.Record)
	require.Contains(t, k.trail(), "Dana put down the name Ada Lindqvist, the language es, ")
}

func TestEnrollingOverwritesNothingThatTheOwnerTold(t *testing.T) {
	k := newWalk(world(t))
	for _, text := range []string{"FLUSH", "410 gallons", "chlorine"} {
		k.text(text)
	}
	before := k.c
	k.enrol(conversation.Enrolment{Name: "Ada", Language: "es", VolumeUSGal: 375, Sanitizer: "bromine"})
	require.Equal(t, before.Tub.VolumeUSGal, k.c.Tub.VolumeUSGal)
	require.Equal(t, before.Owner.Language, k.c.Owner.Language)
	require.Equal(t, before.Consent.Record, k.c.Consent.Record, "they agreed themselves")
	require.Equal(t, "Ada", k.c.Owner.Name)
	k.enrol(conversation.Enrolment{Name: "Somebody else"})
	require.Equal(t, "Ada", k.c.Owner.Name)
	require.Empty(t, k.trail())
}

func TestAVolumeThatNoTubHasIsNotPutDown(t *testing.T) {
	for _, gallons := range []float64{-1, 5, 9000} {
		k := newWalk(world(t))
		k.enrol(conversation.Enrolment{VolumeUSGal: gallons, Sanitizer: "snake oil", Language: "xx"})
		require.Zero(t, k.c.Tub.VolumeUSGal)
		require.Empty(t, k.c.Tub.Sanitizer)
	}
}

func TestAnInvitationSaysWhoWritesAndWhatCanBeDone(t *testing.T) {
	k := newWalk(world(t))
	k.enrol(conversation.Enrolment{Name: "Ada", Invite: true})
	require.Contains(t, k.said(), "Fernhollow Tub Supply")
	require.Contains(t, k.said(), "FLUSH")
	require.Contains(t, k.said(), "STOP")
	k.text("STOP")
	k.enrol(conversation.Enrolment{Invite: true})
	require.Empty(t, k.out)
	require.Contains(t, k.trail(), "opted out")
}
