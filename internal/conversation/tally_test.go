package conversation_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
)

// told is what the last turn counted: kind, key, how many and how much.
func (k *walk) told() map[string][2]int64 {
	counted := map[string][2]int64{}
	for _, t := range k.fx.Tally {
		counted[t.Kind+" "+t.Key] = [2]int64{t.N, t.Sum}
	}
	return counted
}

func TestCountingAService(t *testing.T) {
	k := newWalk(world(t))
	k.text("FLUSH")
	require.Equal(t, map[string][2]int64{"service_started flush_plumbing": {1, 0}}, k.told())
	require.Equal(t, k.now.In(time.FixedZone("PDT", -7*3600)).Format(time.DateOnly), k.fx.Tally[0].Day, "a day of the shop")
	k.text("hm")
	require.Nil(t, k.fx.Tally, "nothing to tell")
	k.text("can't finish today")
	all := k.told()
	for range 20 {
		if k.c.Service == nil || !k.fire() {
			break
		}
		for kind, n := range k.told() {
			all[kind] = n
		}
	}
	for kind := range all {
		require.True(t, strings.HasPrefix(kind, "service_") || strings.HasPrefix(kind, "handover_"), kind)
	}
}

func TestCountingACase(t *testing.T) {
	k := held(t)
	counted := k.told()
	require.Equal(t, [2]int64{1, 0}, counted["handover_opened unsafe_reading"])
	require.Equal(t, [2]int64{1, 0}, counted["reading ph"])
	require.NotContains(t, counted, "reading_out ph/low")
	require.Equal(t, [2]int64{1, 0}, counted["reading_out free_chlorine_ppm/high"])
	k.now = k.now.Add(90 * time.Second)
	k.staff(conversation.StaffAction{Act: conversation.Claim})
	require.Equal(t, map[string][2]int64{"first_response person_soon": {1, 90}}, k.told())
	k.staff(conversation.StaffAction{Act: conversation.Claim, By: "luis"})
	require.Empty(t, k.told(), "the first response is one")
	k.now = k.now.Add(10 * time.Second)
	k.staff(conversation.StaffAction{Act: conversation.CloseIt, Text: "fresh water"})
	require.Equal(t, [2]int64{1, 100}, k.told()["handover_closed unsafe_reading"])
}

func TestCountingWhatWentIn(t *testing.T) {
	k := atSoak(t)
	require.True(t, slices.ContainsFunc(k.fx.Tally, func(one conversation.Tally) bool {
		return one.Kind == conversation.TallyProduct && one.N == 1 && one.Sum > 0 && one.Sum == int64(4*k.c.Service.Added["flush_product"].Spoons)
	}), "%+v", k.fx.Tally)
}
