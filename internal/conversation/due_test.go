package conversation_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
	"tubhand/internal/understand"
)

func TestDueChores(t *testing.T) {
	const day = 24 * time.Hour
	flushed, tested, changed := start, start.Add(-3*day), start.Add(10*day)
	for name, c := range map[string]struct {
		tub  conversation.Tub
		ask  conversation.Consent
		want map[conversation.Chore]time.Time
	}{
		"nothing is known": {want: map[conversation.Chore]time.Time{}},
		"tested only": {
			tub:  conversation.Tub{Readings: map[understand.Quantity]conversation.Measured{understand.PH: {At: tested}, understand.WaterTemp: {At: start}}},
			want: map[conversation.Chore]time.Time{conversation.ChoreTest: tested.Add(7 * day)},
		},
		"flushed, volume unknown": {
			tub:  conversation.Tub{LastFlush: flushed},
			want: map[conversation.Chore]time.Time{conversation.ChoreFlush: flushed.Add(120 * day), conversation.ChoreFilters: flushed.Add(30 * day), conversation.ChoreRinse: flushed.Add(7 * day)},
		},
		"360 gallons last 60 days with two people": {
			tub: conversation.Tub{LastFlush: flushed, VolumeUSGal: 360},
			want: map[conversation.Chore]time.Time{conversation.ChoreFlush: flushed.Add(120 * day), conversation.ChoreFilters: flushed.Add(30 * day), conversation.ChoreRinse: flushed.Add(7 * day),
				conversation.ChoreRefill: flushed.Add(60 * day)},
		},
		"new water since, and a reminder that the owner wants": {
			tub: conversation.Tub{LastFlush: flushed, Changed: changed, VolumeUSGal: 2400},
			ask: conversation.Consent{Seasonal: map[string]conversation.Pending{"flush_plumbing": {ID: "x", Due: start.Add(90 * day)}}},
			want: map[conversation.Chore]time.Time{conversation.ChoreFlush: start.Add(90 * day), conversation.ChoreFilters: changed.Add(30 * day), conversation.ChoreRinse: changed.Add(7 * day),
				conversation.ChoreRefill: changed.Add(180 * day)},
		},
	} {
		t.Run(name, func(t *testing.T) {
			list := conversation.DueChores(&conversation.Conversation{Tub: c.tub, Consent: c.ask})
			got := map[conversation.Chore]time.Time{}
			for i, d := range list {
				got[d.Chore] = d.At
				require.False(t, i > 0 && d.At.Before(list[i-1].At), "earliest first")
			}
			require.Equal(t, c.want, got)
		})
	}
}
