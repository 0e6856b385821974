package bench_test

import (
	"net/http"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tubhand/internal/bench"
)

// A ramp sends its requests in order, as many as the two slopes come to, most of them
// around the middle, and falls as it rises.
func TestRamp(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		low := rapid.Float64Range(1, 100).Draw(rt, "low")
		high := low + rapid.Float64Range(0, 1000).Draw(rt, "more")
		long := time.Duration(rapid.IntRange(1, 60).Draw(rt, "seconds")) * time.Second
		s := bench.Ramp(low, high, long)
		var at []time.Duration
		for n := int64(1); ; n++ {
			one, more := s(n)
			if !more {
				break
			}
			if len(at) > 0 {
				require.GreaterOrEqual(rt, one, at[len(at)-1])
			}
			require.LessOrEqual(rt, one, long+time.Microsecond)
			at = append(at, one)
		}
		require.InDelta(rt, (low+high)/2*long.Seconds(), len(at), 1)
		count := func(from, to float64) (n int) {
			for _, a := range at {
				if share := float64(a) / float64(long); share >= from && share < to {
					n++
				}
			}
			return n
		}
		first, middle, last := count(0, 0.25), count(0.375, 0.625), count(0.75, 1.01)
		require.InDelta(rt, first, last, 2)
		require.GreaterOrEqual(rt, middle+2, first)
		at0 := float64(count(0, 0.05)) / (0.05 * long.Seconds())
		require.InDelta(rt, low+(high-low)*0.05, at0, (high-low)*0.05+1/(0.05*long.Seconds())+1)
	})
}

func TestTimedTellsGroupsApart(t *testing.T) {
	l := against(t, func(w http.ResponseWriter, r *http.Request) {
		if r.PostFormValue("from") == "1" {
			w.WriteHeader(503)
			return
		}
		w.WriteHeader(204)
	})
	run, groups, err := l.Timed(t.Context(), bench.Even(400, 500*time.Millisecond), func(connection int, at time.Duration) []string {
		when := "early"
		if at > 250*time.Millisecond {
			when = "late"
		}
		return []string{when, map[bool]string{true: "bad", false: "good"}[connection == 1]}
	})
	require.NoError(t, err)
	require.Equal(t, 200, run.Requests)
	require.Equal(t, 200, groups["early"].Requests+groups["late"].Requests)
	require.Equal(t, 100, groups["early"].Requests)
	require.Equal(t, run.Refused, groups["bad"].Requests)
	require.Equal(t, run.Refused, groups["bad"].Refused)
	require.Zero(t, groups["good"].Refused)
}

func TestABurstIsSentAtOnce(t *testing.T) {
	l := against(t, func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(204) })
	run, groups, err := l.Timed(t.Context(), bench.Burst(50), nil)
	require.NoError(t, err)
	require.Equal(t, 50, run.Requests)
	require.Empty(t, groups)
}
