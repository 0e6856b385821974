package conversation

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/understand"
	"tubhand/internal/water"
)

// keptTurn is a turn in a service that kept a reading at an hour of a June day.
func keptTurn(q understand.Quantity, v understand.Value, hour int) *turn {
	now := time.Date(2026, 6, 13, hour, 30, 0, 0, time.UTC)
	w := &World{home: time.UTC}
	c := Conversation{Tub: Tub{VolumeUSGal: 375, Sanitizer: "chlorine"}, Service: &Service{}}
	c.Service.Kept = map[understand.Quantity]Measured{q: {Value: v, At: now}}
	return &turn{w: w, c: c, now: now}
}

// TestTheShareToReplace: the part is package water's, 1 - 30/now (mass balance with fill
// water that has none), said in steps of five percent and never too small.
func TestTheShareToReplace(t *testing.T) {
	for level, want := range map[float64]string{60: "50 %", 70: "60 %", 80: "65 %", 90: "70 %"} {
		k := keptTurn(understand.CyanuricAcid, understand.Value{Low: level, High: level}, 10)
		share, _ := k.shareWords()
		require.Equal(t, want, share)
		require.GreaterOrEqual(t, k.share(), 1-30/level-1e-9)
		require.InDelta(t, water.DrainFraction(level, 30, 0), k.share(), 1e-12)
	}
	none := keptTurn(understand.PH, understand.Value{Low: 7, High: 7}, 10)
	share, volume := none.shareWords()
	require.Empty(t, share+volume, "nothing was kept to work it out from")
}

// TestWhatANightCosts: the part of the kept sanitizer that is gone; unknown without a new
// test, or with one whose end is open.
func TestWhatANightCosts(t *testing.T) {
	for _, c := range []struct {
		before, after understand.Value
		want          float64
		known         bool
	}{
		{understand.Value{Low: 4, High: 4}, understand.Value{Low: 1, High: 1}, 75, true},
		{understand.Value{Low: 4, High: 4}, understand.Value{Low: 5, High: 5}, 0, true},
		{understand.Value{Low: 3, High: 5}, understand.Value{High: 1, OpenLow: true}, 87.5, true},
		{understand.Value{Low: 4, High: 4}, understand.Value{Low: 3, OpenHigh: true}, 0, false},
	} {
		k := keptTurn(understand.FreeChlorine, c.before, 20)
		_, ok := k.lost()
		require.False(t, ok, "no test since")
		k.now = k.now.Add(12 * time.Hour)
		k.c.Tub.Readings = map[understand.Quantity]Measured{understand.FreeChlorine: {Value: c.after, At: k.now}}
		got, ok := k.lost()
		require.Equal(t, c.known, ok)
		require.InDelta(t, c.want, got, 1e-9)
	}
}

// TestTheNextMorning: at 8 on the owner's clock, and never less than a night away.
func TestTheNextMorning(t *testing.T) {
	for hour, want := range map[int]time.Duration{20: 11*time.Hour + 30*time.Minute, 10: 21*time.Hour + 30*time.Minute, 23: 8*time.Hour + 30*time.Minute, 1: 30*time.Hour + 30*time.Minute} {
		k := keptTurn(understand.PH, understand.Value{}, hour)
		require.Equal(t, want, k.overnight(), "from %d:30", hour)
	}
}
