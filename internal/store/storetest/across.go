package storetest

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

func acrossCases() []promise {
	return []promise{
		{"found by name, number and tub", "Find lists conversations in which every word of the query occurs", foundBy},
		{"what has changed is found as it is now", "Find lists conversations in which every word of the query occurs", foundAfterChange},
		{"found in pages", "those begun last first, at most n; next is \"\" at the end", foundInPages},
		{"many are found and counted once", "those begun last first", foundAmongMany},
		{"an erased conversation is not found", "EraseConversation removes a conversation with everything kept of it", erasedIsNotFound},
		{"what is coming", "Upcoming lists the shop's pending reminders that are due from a time until before another", upcoming},
		{"counts add up", "Tallies lists what was counted from a day up to and with another", talliesAdd},
		{"counts of a turn that is refused", "Commit writes a turn: ... tallies and dedupe mark, all or nothing", talliesAllOrNothing},
		{"counts are set", "PutTallies sets counts, whatever was there", talliesSet},
		{"counts outlive an erased conversation", "It names nobody: what was counted stays", talliesOutlive},
	}
}

// meet commits a conversation with this owner and tub.
func (k *kit) meet(shop, address, name string, gallons float64, more ...string) {
	k.Helper()
	t := k.turn(shop, address)
	t.State.Owner.Name = name
	t.State.Owner.Addresses = append([]string{address}, more...)
	t.State.Tub.VolumeUSGal = gallons
	k.commit(t)
}

// found is the ids that a query finds, and where to go on.
func (k *kit) found(shop, query string, n int, after string) (ids []string, next string) {
	k.Helper()
	cards, next, err := k.view(shop).Find(query, n, after)
	require.NoError(k, err)
	for _, c := range cards {
		ids = append(ids, c.State.ID)
	}
	return ids, next
}

func foundBy(k *kit) {
	k.meet(shopA, anna, "Ánna Müller-Groß", 375)
	k.meet(shopA, ben, "Ben O'Dell", 410, "Ben.ODell@owner.example")
	k.meet(shopA, "cleo@owner.example", "Cleo", 0)
	k.meet(shopB, anna, "Anna elsewhere", 375)
	for query, want := range map[string][]string{
		"":                        {"cleo@owner.example", ben, anna},
		"anna":                    {anna},
		"MULLER":                  {anna},
		"nna mül":                 {anna},
		"müller anna":             {anna},
		"ll":                      {ben, anna},
		"o'd":                     {ben},
		"5550143":                 {ben},
		"(541) 555-0142":          {anna},
		"+1 541.555":              {ben, anna},
		"43":                      {ben},
		"odell@owner":             {ben},
		"owner.example":           {"cleo@owner.example", ben},
		"375 gal":                 {anna},
		"410":                     {ben},
		"1552 l":                  {ben}, // 410 US gallons are 1,552 litres
		"bromine":                 nil,
		"chlorine ben":            {ben},
		"nobody":                  nil,
		"zq":                      nil,
		"anna ben":                nil,
		`"`:                       nil,
		`a" OR "b`:                nil,
		"%":                       nil,
		"ben*":                    nil,
		"[":                       nil,
		"anna\x00\n\t\xff müller": {anna},
	} {
		ids, next := k.found(shopA, query, 100, "")
		require.Equal(k, want, ids, "query %q", query)
		require.Empty(k, next, "query %q", query)
	}
	cards, _, err := k.view(shopA).Find("cleo", 10, "")
	require.NoError(k, err)
	board, err := k.view(shopA).Board(10)
	require.NoError(k, err)
	require.Equal(k, board[:1], cards, "a card as the board has it")
	_, _, err = k.view("nowhere").Find("anna", 10, "")
	require.NoError(k, err)
	_, _, err = k.view(shopA).Find("anna", 10, "no place")
	require.ErrorIs(k, err, store.ErrRefused)
}

func foundAfterChange(k *kit) {
	k.meet(shopA, anna, "Anna", 375)
	k.meet(shopA, ben, "Ben", 410)
	k.meet(shopA, anna, "Annika", 500, "annika@owner.example")
	for query, want := range map[string][]string{
		"": {ben, anna}, "annika": {anna}, "annika@": {anna}, "500 gal": {anna}, "375": nil, "ben": {ben}, "an": {anna},
	} {
		ids, _ := k.found(shopA, query, 10, "")
		require.Equal(k, want, ids, "query %q", query)
	}
	k.meet(shopA, anna, "Anna", 375)
	ids, _ := k.found(shopA, "annika", 10, "")
	require.Empty(k, ids)
	ids, _ = k.found(shopA, "anna 375", 10, "")
	require.Equal(k, []string{anna}, ids)
}

func foundInPages(k *kit) {
	var want []string
	for i := range 7 {
		id := fmt.Sprintf("+1541555010%d", i)
		k.meet(shopA, id, "Robin", 300)
		want = append([]string{id}, want...)
	}
	k.meet(shopA, want[6], "Robin Changed", 300) // the order is of beginning
	for _, query := range []string{"robin", "", "ro"} {
		var got []string
		for after, pages := "", 0; ; pages++ {
			ids, next := k.found(shopA, query, 3, after)
			require.LessOrEqual(k, len(ids), 3)
			got = append(got, ids...)
			if after = next; next == "" || pages > 4 {
				break
			}
		}
		require.Equal(k, want, got, "query %q", query)
	}
	ids, next := k.found(shopA, "robin", 7, "")
	require.Len(k, ids, 7)
	require.Empty(k, next, "nothing is left")
	ids, next = k.found(shopA, "robin", 0, "")
	require.Equal(k, want[:1], ids)
	require.NotEmpty(k, next)
}

func foundAmongMany(k *kit) {
	const tubs = 300
	for i := range tubs {
		k.meet(shopA, fmt.Sprintf("+1541556%04d", i), fmt.Sprintf("Owner %d", i), float64(200+i))
	}
	for i := 0; i < tubs; i += 100 {
		k.meet(shopA, fmt.Sprintf("+1541556%04d", i), fmt.Sprintf("Renamed %d", i), float64(200+i))
	}
	ids, _ := k.found(shopA, "renamed", 10, "")
	require.Equal(k, []string{"+15415560200", "+15415560100", "+15415560000"}, ids)
	ids, _ = k.found(shopA, "", 500, "")
	require.Len(k, ids, tubs)
	require.Equal(k, []string{"+15415560299", "+15415560298"}, ids[:2])
	require.Equal(k, "+15415560000", ids[tubs-1])
	ids, _ = k.found(shopA, "owner 17", 500, "")
	require.Equal(k, []string{"+15415560217", "+15415560179", "+15415560178", "+15415560177", "+15415560176", "+15415560175",
		"+15415560174", "+15415560173", "+15415560172", "+15415560171", "+15415560170", "+15415560117", "+15415560017"},
		withName(ids), "by name or number")
}

// withName leaves those out that have 17 in the tub's volume only.
func withName(ids []string) (out []string) {
	for _, id := range ids {
		var n int
		if _, err := fmt.Sscanf(id, "+1541556%d", &n); err == nil && (n%100 == 17 || n/10 == 17) {
			out = append(out, id)
		}
	}
	return out
}

func erasedIsNotFound(k *kit) {
	k.meet(shopA, anna, "Anna Secret", 375)
	k.meet(shopA, ben, "Ben", 410)
	k.erase(shopA, anna)
	for _, query := range []string{"secret", anna, "375", "se"} {
		ids, _ := k.found(shopA, query, 10, "")
		require.Empty(k, ids, "query %q", query)
	}
	ids, _ := k.found(shopA, "", 10, "")
	require.Equal(k, []string{ben}, ids)
	k.meet(shopA, anna, "Anna Again", 375)
	ids, _ = k.found(shopA, "an", 10, "")
	require.Equal(k, []string{anna}, ids)
}

func upcoming(k *kit) {
	list := func(from, until time.Duration, n int) (ids []string) {
		k.Helper()
		coming, err := k.view(shopA).Upcoming(k.now.Add(from), k.now.Add(until), n)
		require.NoError(k, err)
		for _, c := range coming {
			require.Equal(k, k.load(shopA, c.Reminder.Conversation), c.State)
			ids = append(ids, c.Reminder.ID)
		}
		return ids
	}
	require.Empty(k, list(0, time.Hour, 10))
	c := k.remind(shopA, anna, k.now.Add(72*time.Hour))
	a := k.remind(shopA, ben, k.now.Add(time.Hour))
	b := k.remind(shopA, anna, k.now.Add(48*time.Hour))
	k.remind(shopB, anna, k.now.Add(2*time.Hour))
	require.Equal(k, []string{a, b, c}, list(0, 100*time.Hour, 10))
	require.Equal(k, []string{a, b}, list(0, 100*time.Hour, 2))
	require.Equal(k, []string{a, b}, list(time.Hour, 72*time.Hour, 10), "from is in it, until is not")
	require.Empty(k, list(200*time.Hour, 300*time.Hour, 10))
	t := k.turn(shopA, anna)
	t.Effects.Cancel = []string{b}
	k.commit(t)
	require.Equal(k, []string{a, c}, list(0, 100*time.Hour, 10))
}

func (k *kit) tallies(shop, from, until string, kinds ...string) []conversation.Tally {
	k.Helper()
	list, err := k.view(shop).Tallies(from, until, kinds...)
	require.NoError(k, err)
	return list
}

// told commits a turn that counts.
func (k *kit) told(shop, address string, list ...conversation.Tally) {
	k.Helper()
	t := k.turn(shop, address)
	t.Effects.Tally = list
	k.commit(t)
}

func talliesAdd(k *kit) {
	on := func(day, kind, key string, n, sum int64) conversation.Tally {
		return conversation.Tally{Day: day, Kind: kind, Key: key, N: n, Sum: sum}
	}
	k.told(shopA, anna, on("2026-06-13", "started", "flush", 1, 0), on("2026-06-13", "used", "Line Flush", 1, 12))
	k.told(shopA, ben, on("2026-06-13", "used", "Line Flush", 2, 9))
	k.told(shopA, ben, on("2026-07-01", "used", "¿Qué?", 1, -3), on("2026-07-01", "started", "", 1, 0))
	k.told(shopB, ben, on("2026-06-13", "used", "Line Flush", 100, 100))
	june := []conversation.Tally{on("2026-06-13", "started", "flush", 1, 0), on("2026-06-13", "used", "Line Flush", 3, 21)}
	july := []conversation.Tally{on("2026-07-01", "started", "", 1, 0), on("2026-07-01", "used", "¿Qué?", 1, -3)}
	require.Equal(k, append(june, july...), k.tallies(shopA, "0000-01-01", "9999-12-31"))
	require.Equal(k, june, k.tallies(shopA, "2026-06-13", "2026-06-30"))
	require.Equal(k, july, k.tallies(shopA, "2026-06-14", "2026-07-01"))
	require.Equal(k, []conversation.Tally{june[1], july[1]}, k.tallies(shopA, "2026-06-01", "2026-07-31", "used", "nothing"))
	require.Empty(k, k.tallies(shopA, "2026-06-14", "2026-06-30"))
	require.Empty(k, k.tallies("nowhere", "2026-01-01", "2026-12-31"))
}

func talliesAllOrNothing(k *kit) {
	one := conversation.Tally{Day: "2026-06-13", Kind: "started", Key: "flush", N: 1}
	t := k.turn(shopA, anna)
	t.Effects.Tally = []conversation.Tally{one}
	k.commit(t)
	require.ErrorIs(k, k.s.Commit(k.ctx, t), store.ErrDuplicate)
	t.Event = k.id("event")
	require.ErrorIs(k, k.s.Commit(k.ctx, t), store.ErrConflict)
	for _, bad := range []conversation.Tally{{Day: "13 June", Kind: "started"}, {Day: "2026-06-13"}, {Day: "2026-06-14", Kind: "started"}, {Day: "2026-06-13", Kind: "a\tb"}} {
		t := k.turn(shopA, ben)
		t.Effects.Tally = []conversation.Tally{one, bad}
		require.Error(k, k.s.Commit(k.ctx, t), "%+v", bad)
	}
	require.Equal(k, []conversation.Tally{one}, k.tallies(shopA, "2026-06-13", "2026-06-13"))
}

func talliesSet(k *kit) {
	k.told(shopA, anna, conversation.Tally{Day: "2026-06-13", Kind: "used", Key: "a", N: 5, Sum: 50})
	want := []conversation.Tally{{Day: "2026-06-13", Kind: "used", Key: "a", N: 2, Sum: 20}, {Day: "2026-08-01", Kind: "used", Key: "b", N: 1, Sum: 1}}
	for range 2 {
		require.NoError(k, k.s.PutTallies(k.ctx, shopA, want))
		require.Equal(k, want, k.tallies(shopA, "2026-01-01", "2026-12-31"))
	}
	require.ErrorIs(k, k.s.PutTallies(k.ctx, shopA, []conversation.Tally{{Day: "soon", Kind: "used"}}), store.ErrRefused)
	require.ErrorIs(k, k.s.PutTallies(k.ctx, shopA, make([]conversation.Tally, store.MostTallies+1)), store.ErrRefused)
	k.told(shopA, anna, conversation.Tally{Day: "2026-06-13", Kind: "used", Key: "a", N: 1, Sum: 2})
	want[0].N, want[0].Sum = 3, 22
	require.Equal(k, want, k.tallies(shopA, "2026-01-01", "2026-12-31"))
}

func talliesOutlive(k *kit) {
	one := conversation.Tally{Day: "2026-06-13", Kind: "started", Key: "flush", N: 1}
	k.told(shopA, anna, one)
	k.erase(shopA, anna)
	require.Equal(k, []conversation.Tally{one}, k.tallies(shopA, "2026-06-13", "2026-06-13"))
}

// BenchFind measures searching a store that holds so many conversations, and says how long the
// slowest of a few kinds of queries takes.
func BenchFind(b *testing.B, s store.Store, tubs int) {
	k := &kit{s: s, ctx: b.Context(), now: noon}
	FillAcross(b, s, shopA, tubs)
	for _, query := range []string{"", "owner 77", "15415560777", "nobody", "(541) 556-12", "zq", "410 chlorine"} {
		b.Run("query "+query, func(b *testing.B) {
			for b.Loop() {
				_, _, err := k.s.View(k.ctx, shopA).Find(query, 50, "")
				require.NoError(b, err)
			}
		})
	}
}

// FillAcross commits so many conversations of owners with names, numbers and tubs.
func FillAcross(tb testing.TB, s store.Store, shop string, tubs int) {
	tb.Helper()
	const atOnce = 32
	errs := make(chan error, atOnce)
	for w := range atOnce {
		go func() {
			for i := w; i < tubs; i += atOnce {
				c := State(shop, fmt.Sprintf("+1541%07d", 5560000+i))
				c.Owner.Name, c.Tub.VolumeUSGal = fmt.Sprintf("Owner %d", i), float64(200+i%300)
				if err := s.Commit(tb.Context(), store.Turn{Shop: shop, Event: fmt.Sprint("fill", i), Now: noon, State: c}); err != nil {
					errs <- err
					return
				}
			}
			errs <- nil
		}()
	}
	for range atOnce {
		require.NoError(tb, <-errs)
	}
}
