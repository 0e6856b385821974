package redis

import (
	"math"
	"testing"

	"github.com/alicebob/miniredis/v2"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tubhand/internal/store"
	"tubhand/internal/store/internal/record"
	"tubhand/internal/store/storetest"
)

// TestACallThatIsRepeatedCountsOnce sends one commit's call twice, as the client does when
// an answer gets lost.
func TestACallThatIsRepeatedCountsOnce(t *testing.T) {
	s, err := Open(t.Context(), "redis://"+miniredis.RunT(t).Addr(), Options{})
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	for _, event := range []string{"e", ""} { // "" is an import, which has no mark
		turn := storetest.NextTurn(storetest.State("fern", "tub"+event))
		turn.Event = event
		w, err := s.prepare(turn)
		require.NoError(t, err)
		for range 2 {
			answer, err := s.run(t.Context(), s.scripts.commit, true, w.all(event), w.args...)
			require.NoError(t, err)
			require.Equal(t, "done", answer)
		}
		lines, err := s.View(t.Context(), "fern").Transcript("tub"+event, 10)
		require.NoError(t, err)
		require.Len(t, lines, 2)
		require.Error(t, s.Commit(t.Context(), turn), "another call is another turn")
	}
}

// TestHorizon does what processes do, and compares with the first work that is there.
func TestHorizon(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		h := newHorizon(3)
		there := [3]int64{never, never, never}
		at := rapid.Int64Range(-100, 100)
		rt.Repeat(map[string]func(*rapid.T){
			"write": func(rt *rapid.T) {
				p, v := rapid.IntRange(0, 2).Draw(rt, "p"), at.Draw(rt, "at")
				there[p] = min(there[p], v)
				h.lower(partition(p), v)
			},
			"take away": func(rt *rapid.T) {
				p := rapid.IntRange(0, 2).Draw(rt, "p")
				there[p] = never
				h.lower(partition(p), never)
			},
			"forget": func(*rapid.T) { h.forget() },
			"look": func(rt *rapid.T) {
				first, doubtful := h.survey()
				for _, q := range doubtful {
					first = min(first, there[q.part])
					if rapid.Bool().Draw(rt, "changes meanwhile") {
						h.lower(q.part, 100)
						there[q.part] = min(there[q.part], 100)
					}
					h.answer(q, there[q.part])
				}
				want := min(there[0], there[1], there[2])
				require.LessOrEqual(rt, want, first)
				if len(doubtful) == 0 {
					require.Equal(rt, want, first)
				}
			},
			"": func(rt *rapid.T) {
				now := at.Draw(rt, "now")
				asked := map[partition]bool{}
				for _, q := range h.before(now) {
					asked[q.part] = true
				}
				for p, first := range there {
					require.True(rt, first > now || asked[partition(p)], "work at %d is not seen at %d", first, now)
				}
			},
		})
	})
}

func TestKeysOfAPartitionShareASlot(t *testing.T) {
	l := layout{"tubhand", 64}
	seen := map[string]string{}
	for _, shop := range []string{"fern", "a:b", "a", "a/b", "a{b}", "{", "häuser"} {
		k := l.shop(shop)
		require.Equal(t, l.of(shop), k.part)
		for _, key := range []string{k.hash, k.board, k.open, k.closed, k.channel, k.due, k.outbox, k.tried, k.mark + "x", k.lines + "b:c", k.queue + "x", k.logs + "x"} {
			require.Contains(t, key, l.base(k.part), key)
			if key != k.due && key != k.outbox && key != k.tried {
				require.Empty(t, seen[key], "%s is %s's too", key, shop)
			}
			seen[key] = shop
		}
	}
	require.NotEqual(t, l.shop("a:b").lines+"c", l.shop("a").lines+"b:c")
}

func TestPlaces(t *testing.T) {
	for text, want := range map[string]int64{"": never, "-68587000000000": -68587000000000, "1.786e+12": 1786000000000, "0": 0} {
		got, err := place(text)
		require.NoError(t, err)
		require.Equal(t, want, got)
	}
	_, err := place("soon")
	require.Error(t, err)
	require.Less(t, int64(unknown), int64(math.MinInt32))
}

func TestAnswersThatAreNone(t *testing.T) {
	for _, words := range [][]string{{}, {"", "a"}, {"x"}, {"", "fern\nid\n{}", "x", "1"}, {"", "fern\nid\n{}", "1", "x"}} {
		_, _, err := leased(words)
		require.Error(t, err, words)
	}
	for _, written := range []string{"", "x\n1\n{}", "1\nx\n{}", "1\n1\n{"} {
		_, _, err := state(written)
		require.Error(t, err, written)
	}
	require.ErrorIs(t, explain(store.ErrClosed), store.ErrClosed)
}

func TestBareWritesAsMuchAsATurnAndErasesItself(t *testing.T) {
	server := miniredis.RunT(t)
	require.NoError(t, server.Set("somebody-else", "x"))
	address := "redis://" + server.Addr()
	sample := storetest.NextTurn(storetest.State("fern", "anna"))
	b, err := OpenBare(t.Context(), address, Options{Name: "yardstick", Partitions: 2}, sample)
	require.NoError(t, err)
	for n := range int64(10) {
		require.NoError(t, b.Turn(t.Context(), n%2, n))
	}
	lines, err := server.List("yardstick:{p01}:1:lines")
	require.NoError(t, err)
	require.Len(t, lines, 10)
	out, err := server.List("yardstick:{p00}:bareout")
	require.NoError(t, err)
	require.Len(t, out, 5)
	require.Greater(t, len(server.HGet("yardstick:{p00}:0:state", "state")), 900)
	require.Len(t, server.Keys(), 1+1+10+2*(1+1+1+1), "layout, marks, and for each partition state, lines, outbox and reminders")
	require.NoError(t, b.s.Erase(t.Context()))
	require.Equal(t, []string{"somebody-else"}, server.Keys())
	require.NoError(t, b.Close())
	sample.Effects.Remind = nil
	_, err = OpenBare(t.Context(), address, Options{}, sample)
	require.ErrorIs(t, err, record.ErrTurn)
}
