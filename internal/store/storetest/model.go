package storetest

import (
	"cmp"
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

// checkModel does random things to a store and to a model of a few maps and slices, and
// compares after each. All rounds are on one store, each in a shop of its own.
func checkModel(t *testing.T, open func(tb testing.TB) store.Store) {
	s := open(t)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	round := 0
	rapid.Check(t, func(rt *rapid.T) {
		drain(t, s)
		round++
		m := &model{
			s: s, t: t, shop: fmt.Sprintf("shop %d", round), now: noon,
			tubs: make(map[string]*modelTub),
		}
		rt.Repeat(map[string]func(*rapid.T){
			"commit":    m.commit,
			"again":     m.again,
			"erase":     m.erase,
			"stale":     m.stale,
			"claim":     m.claim,
			"settle":    m.settle,
			"delivered": m.delivered,
			"due":       m.due,
			"wait":      m.wait,
			"":          m.compare,
		})
	})
}

// drain settles and fires what the round before has left, since claims are for all shops.
func drain(t *testing.T, s store.Store) {
	later := noon.Add(1000 * time.Hour)
	for {
		out, err := s.ClaimOutbox(t.Context(), later, time.Hour, 100)
		require.NoError(t, err)
		var results []store.Result
		for _, o := range out {
			results = append(results, store.Result{Shop: o.Shop, Line: o.Line.ID, Kind: store.Sent})
		}
		require.NoError(t, s.SettleOutbox(t.Context(), results))
		due, err := s.ClaimDue(t.Context(), later, time.Hour, 100)
		require.NoError(t, err)
		for _, d := range due {
			c, err := s.Load(t.Context(), d.Shop, d.Reminder.Conversation)
			require.NoError(t, err)
			require.NoError(t, s.Commit(t.Context(), store.Turn{Shop: d.Shop, Event: d.Reminder.ID, Now: noon, State: c}))
		}
		if len(out)+len(due) == 0 {
			return
		}
	}
}

// model is what a store of one shop should hold.
type model struct {
	s     store.Store
	t     *testing.T
	shop  string
	now   time.Time
	ids   int
	tubs  map[string]*modelTub
	order []string // conversations, changed last at the end
	turns int64
}

type modelTub struct {
	version   int64
	marks     []string
	lines     []*modelLine
	reminders []*modelReminder
}

type modelLine struct {
	id, text, to, delivery string
	page                   bool
	waits                  bool      // in the outbox
	ready                  time.Time // zero before the first retry
	leased                 time.Time
	attempt                int
}

// claimable is when a head may be given out; zero when it never was.
func (l *modelLine) claimable() time.Time { return later(l.ready, l.leased) }

type modelReminder struct {
	id     string
	due    time.Time
	leased time.Time
}

var modelTubs = []string{anna, ben, cleo, "dana@owner.example"}

func (m *model) id() string { m.ids++; return fmt.Sprintf("x%d", m.ids) }

func (m *model) wait(rt *rapid.T) {
	m.now = m.now.Add(time.Duration(rapid.IntRange(1, 90_000).Draw(rt, "ms")) * time.Millisecond)
}

// commit decides a random turn, writes it to both and compares.
func (m *model) commit(rt *rapid.T) {
	m.now = m.now.Add(time.Millisecond) // so that no two messages are of one age
	who := rapid.SampledFrom(modelTubs).Draw(rt, "who")
	tub := m.tubs[who]
	if tub == nil {
		tub = &modelTub{}
	}
	turn := store.Turn{Shop: m.shop, Event: "event " + m.id(), Now: m.now, State: State(m.shop, who)}
	turn.State.Version = tub.version
	if len(tub.reminders) > 0 && rapid.Bool().Draw(rt, "fires") {
		turn.Event = rapid.SampledFrom(tub.reminders).Draw(rt, "which").id
	}
	m.effects(rt, who, tub, &turn)
	require.NoError(rt, m.s.Commit(m.t.Context(), turn))
	m.apply(tub, turn)
	m.tubs[who] = tub
	m.order = append(slices.DeleteFunc(m.order, func(o string) bool { return o == who }), who)
}

func (m *model) effects(rt *rapid.T, who string, tub *modelTub, turn *store.Turn) {
	for range rapid.IntRange(0, 3).Draw(rt, "lines") {
		l := conversation.Line{ID: who + "." + m.id(), At: m.now, Direction: conversation.In, Text: m.id()}
		if rapid.Bool().Draw(rt, "send") {
			l.Send, l.Direction = true, rapid.SampledFrom([]conversation.Direction{conversation.Out, conversation.Staff, conversation.Page}).Draw(rt, "direction")
			l.To = rapid.SampledFrom([]string{who, dana}).Draw(rt, "to")
		}
		turn.Effects.Lines = append(turn.Effects.Lines, l)
	}
	turn.Effects.DropUnsent = rapid.IntRange(0, 9).Draw(rt, "drop") == 0
	for _, r := range tub.reminders {
		if rapid.IntRange(0, 3).Draw(rt, "cancel") == 0 {
			turn.Effects.Cancel = append(turn.Effects.Cancel, r.id)
		}
	}
	for range rapid.IntRange(0, 2).Draw(rt, "reminders") {
		due := m.now.Add(time.Duration(rapid.IntRange(-10, 100).Draw(rt, "due")) * time.Second)
		turn.Effects.Remind = append(turn.Effects.Remind, conversation.Reminder{ID: who + "." + m.id(), Due: due})
	}
}

// erase erases a conversation, now and then.
func (m *model) erase(rt *rapid.T) {
	if len(m.order) == 0 || rapid.IntRange(0, 3).Draw(rt, "sometimes") > 0 {
		return
	}
	who := rapid.SampledFrom(m.order).Draw(rt, "erased")
	gone, err := m.s.EraseConversation(m.t.Context(), m.shop, who, m.tubs[who].version)
	require.NoError(rt, err)
	require.Equal(rt, store.Erased{Lines: len(m.tubs[who].lines), Reminders: len(m.tubs[who].reminders)}, gone)
	delete(m.tubs, who)
	m.order = slices.DeleteFunc(m.order, func(o string) bool { return o == who })
}

func (m *model) apply(tub *modelTub, turn store.Turn) {
	tub.marks = append(tub.marks, turn.Event)
	m.turns++
	tub.version++
	if turn.Effects.DropUnsent {
		for _, l := range tub.lines {
			if l.waits && !l.page {
				l.waits, l.delivery = false, "dropped"
			}
		}
	}
	for _, l := range turn.Effects.Lines {
		line := &modelLine{id: l.ID, text: l.Text, to: l.To, page: l.Direction == conversation.Page, waits: l.Send}
		if l.Send {
			line.delivery = "queued"
		}
		tub.lines = append(tub.lines, line)
	}
	tub.reminders = slices.DeleteFunc(tub.reminders, func(r *modelReminder) bool {
		return r.id == turn.Event || slices.Contains(turn.Effects.Cancel, r.id)
	})
	for _, r := range turn.Effects.Remind {
		tub.reminders = append(tub.reminders, &modelReminder{id: r.ID, due: r.Due})
	}
}

// again repeats an event that was handled.
func (m *model) again(rt *rapid.T) {
	if len(m.order) == 0 {
		return
	}
	who := rapid.SampledFrom(m.order).Draw(rt, "who")
	turn := store.Turn{Shop: m.shop, Now: m.now, State: State(m.shop, who)}
	turn.Event = rapid.SampledFrom(m.tubs[who].marks).Draw(rt, "event")
	turn.State.Version = m.tubs[who].version - int64(rapid.IntRange(0, 1).Draw(rt, "old"))
	m.effects(rt, who, m.tubs[who], &turn)
	require.ErrorIs(rt, m.s.Commit(m.t.Context(), turn), store.ErrDuplicate)
}

// stale commits on a version that is not the stored one.
func (m *model) stale(rt *rapid.T) {
	who := rapid.SampledFrom(modelTubs).Draw(rt, "who")
	version := int64(0)
	tub := &modelTub{}
	if m.tubs[who] != nil {
		tub = m.tubs[who]
		version = tub.version
	}
	turn := store.Turn{Shop: m.shop, Event: "event " + m.id(), Now: m.now, State: State(m.shop, who)}
	turn.State.Version = version + int64(rapid.SampledFrom([]int{-1, 1, 5}).Draw(rt, "off"))
	m.effects(rt, who, tub, &turn)
	require.ErrorIs(rt, m.s.Commit(m.t.Context(), turn), store.ErrConflict)
}

// heads are the messages that may be given out now, in order.
func (m *model) heads() (ready []*modelLine) {
	for _, tub := range m.tubs {
		for _, l := range tub.first() {
			if !l.claimable().After(m.now) {
				ready = append(ready, l)
			}
		}
	}
	return ready
}

// first gives the oldest waiting line to each recipient.
func (t *modelTub) first() (heads []*modelLine) {
	met := make(map[string]bool)
	for _, l := range t.lines {
		if l.waits && !met[l.to] {
			met[l.to] = true
			heads = append(heads, l)
		}
	}
	return heads
}

func (m *model) claim(rt *rapid.T) {
	n := rapid.IntRange(0, 4).Draw(rt, "n")
	lease := time.Duration(rapid.IntRange(1, 60).Draw(rt, "lease")) * time.Second
	out, err := m.s.ClaimOutbox(m.t.Context(), m.now, lease, n)
	require.NoError(rt, err)
	ready := m.heads()
	require.Len(rt, out, min(n, len(ready)))
	given := make(map[string]bool)
	for _, o := range out {
		i := slices.IndexFunc(ready, func(l *modelLine) bool { return l.id == o.Line.ID })
		require.GreaterOrEqual(rt, i, 0, "line %s is not the head of its queue, or not ready", o.Line.ID)
		require.False(rt, given[o.Line.ID])
		given[o.Line.ID] = true
		ready[i].attempt++
		require.Equal(rt, ready[i].attempt, o.Attempt)
	}
	for _, l := range ready {
		if !given[l.id] {
			for _, o := range ready {
				first := l.leased.IsZero() && o.leased.IsZero() && l.ready.Before(o.ready)
				require.False(rt, given[o.id] && first, "%s was ready before %s", l.id, o.id)
			}
		}
	}
	for _, l := range ready {
		if given[l.id] {
			l.leased = m.now.Add(lease)
		}
	}
}

// sent lists all lines that were to be sent, in a fixed order.
func (m *model) sent() (list []*modelLine) {
	for _, who := range modelTubs {
		if tub := m.tubs[who]; tub != nil {
			for _, l := range tub.lines {
				if l.delivery != "" {
					list = append(list, l)
				}
			}
		}
	}
	return list
}

func (m *model) settle(rt *rapid.T) {
	var results []store.Result
	for _, l := range m.sent() {
		if l.attempt == 0 || rapid.IntRange(0, 2).Draw(rt, "pick") != 0 {
			continue
		}
		r := store.Result{Shop: m.shop, Line: l.id, Kind: rapid.SampledFrom([]string{store.Sent, store.Retry, store.Failed}).Draw(rt, "kind")}
		r.Next = m.now.Add(time.Duration(rapid.IntRange(0, 30_000).Draw(rt, "next")) * time.Millisecond)
		results = append(results, r)
		switch {
		case r.Kind == store.Retry && l.waits:
			l.ready, l.leased = r.Next, time.Time{}
		case r.Kind == store.Sent:
			l.waits = false
			l.delivery = further(l.delivery, "sent")
		case r.Kind == store.Failed && l.waits:
			l.waits = false
			l.delivery = further(l.delivery, "failed")
		}
	}
	require.NoError(rt, m.s.SettleOutbox(m.t.Context(), results))
}

func further(from, to string) string {
	rank := map[string]int{"queued": 0, "dropped": 1, "sent": 2, "delivered": 3, "failed": 3}
	if rank[to] > rank[from] {
		return to
	}
	return from
}

func (m *model) delivered(rt *rapid.T) {
	lines := m.sent()
	if len(lines) == 0 {
		return
	}
	l := rapid.SampledFrom(lines).Draw(rt, "line")
	state := rapid.SampledFrom([]string{"sent", "delivered", "failed"}).Draw(rt, "state")
	require.NoError(rt, m.s.Delivered(m.t.Context(), m.shop, l.id, state))
	l.waits = false
	l.delivery = further(l.delivery, state)
}

func (m *model) due(rt *rapid.T) {
	n := rapid.IntRange(0, 5).Draw(rt, "n")
	lease := time.Duration(rapid.IntRange(1, 60).Draw(rt, "lease")) * time.Second
	out, err := m.s.ClaimDue(m.t.Context(), m.now, lease, n)
	require.NoError(rt, err)
	var ready []*modelReminder
	for _, tub := range m.tubs {
		for _, r := range tub.reminders {
			if !r.due.After(m.now) && !r.leased.After(m.now) {
				ready = append(ready, r)
			}
		}
	}
	require.Len(rt, out, min(n, len(ready)))
	given := make(map[string]bool)
	for _, d := range out {
		given[d.Reminder.ID] = true
	}
	require.Len(rt, given, len(out))
	for _, r := range ready {
		for _, o := range ready {
			first := r.leased.IsZero() && o.leased.IsZero() && r.due.Before(o.due)
			require.False(rt, given[o.id] && !given[r.id] && first, "%s was due before %s", r.id, o.id)
		}
	}
	for _, r := range ready {
		if given[r.id] {
			r.leased = m.now.Add(lease)
			delete(given, r.id)
		}
	}
	require.Empty(rt, given, "reminders that are not due")
}

// compare reads everything back.
func (m *model) compare(rt *rapid.T) {
	v := m.s.View(m.t.Context(), m.shop)
	want := store.Counts{Conversations: int64(len(m.order)), Turns: m.turns}
	cards, err := v.Board(500)
	require.NoError(rt, err)
	require.Len(rt, cards, len(m.order))
	for i, who := range m.order {
		tub := m.tubs[who]
		c, err := m.s.Load(m.t.Context(), m.shop, who)
		require.NoError(rt, err)
		require.Equal(rt, tub.version, c.Version)
		require.Equal(rt, c, cards[len(cards)-1-i].State)
		lines, err := v.Transcript(who, 1000)
		require.NoError(rt, err)
		require.Equal(rt, tub.transcript(), summary(lines))
		reminders, err := v.Reminders(who)
		require.NoError(rt, err)
		require.Equal(rt, tub.pending(), dues(reminders))
		want.Reminders += int64(len(reminders))
		for _, l := range tub.lines {
			if l.waits {
				want.Outbox++
			}
		}
	}
	got, err := v.Counts()
	require.NoError(rt, err)
	require.Equal(rt, want, got)
	m.compareNext(rt)
}

func (m *model) compareNext(rt *rapid.T) {
	var want time.Time
	for _, tub := range m.tubs {
		for _, r := range tub.reminders {
			want = earlier(want, later(r.due, r.leased))
		}
		for _, l := range tub.first() {
			if l.claimable().IsZero() {
				return // ready since it was queued; its own case looks at that
			}
			want = earlier(want, l.claimable())
		}
	}
	at, ok, err := m.s.NextDue(m.t.Context())
	require.NoError(rt, err)
	require.Equal(rt, !want.IsZero(), ok)
	require.Equal(rt, want, at)
}

func earlier(a, b time.Time) time.Time {
	if a.IsZero() || b.Before(a) {
		return b
	}
	return a
}

func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}

func (t *modelTub) transcript() (out []string) {
	for _, l := range t.lines {
		out = append(out, l.id+" "+l.text+" "+l.delivery)
	}
	return out
}

func summary(lines []conversation.Line) (out []string) {
	for _, l := range lines {
		out = append(out, l.ID+" "+l.Text+" "+l.Delivery)
	}
	return out
}

func (t *modelTub) pending() (out []string) {
	list := slices.Clone(t.reminders)
	slices.SortFunc(list, func(a, b *modelReminder) int { return cmp.Or(a.due.Compare(b.due), cmp.Compare(a.id, b.id)) })
	for _, r := range list {
		out = append(out, r.id+" "+r.due.String())
	}
	return out
}

func dues(list []conversation.Reminder) (out []string) {
	for _, r := range list {
		out = append(out, r.ID+" "+r.Due.String())
	}
	return out
}
