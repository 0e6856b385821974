package storetest

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/understand"
)

const (
	shopA = "fernhollow"
	shopB = "lakeside"
	anna  = "+15415550142"
	ben   = "+15415550143"
	cleo  = "+15415550144"
)

// noon is when the cases begin.
var noon = time.Date(2026, 6, 13, 12, 0, 0, 0, time.UTC)

// kit is a store under test with short ways to say what a case does.
type kit struct {
	*testing.T
	s     store.Store
	ctx   context.Context
	now   time.Time
	count int
}

func newKit(t *testing.T, s store.Store) *kit {
	k := &kit{T: t, s: s, ctx: t.Context(), now: noon}
	t.Cleanup(func() { require.NoError(t, k.s.Close()) })
	return k
}

// id makes a new id.
func (k *kit) id(kind string) string {
	k.count++
	return fmt.Sprintf("%s-%d", kind, k.count)
}

// turn is a turn with a state and nothing else, as the next of its conversation.
func (k *kit) turn(shop, address string) store.Turn {
	k.Helper()
	state, err := k.s.Load(k.ctx, shop, address)
	if err != nil {
		require.ErrorIs(k, err, store.ErrNotFound)
		state = State(shop, address)
	}
	return store.Turn{Shop: shop, Event: k.id("event"), Now: k.now, State: state}
}

// commit writes a turn that must be taken.
func (k *kit) commit(t store.Turn) {
	k.Helper()
	require.NoError(k, k.s.Commit(k.ctx, t))
}

// say commits a turn that sends the texts, and returns the lines' ids.
func (k *kit) say(shop, address string, texts ...string) []string {
	k.Helper()
	t := k.turn(shop, address)
	var ids []string
	for _, text := range texts {
		l := k.line(t, text)
		t.Effects.Lines = append(t.Effects.Lines, l)
		ids = append(ids, l.ID)
	}
	k.commit(t)
	return ids
}

// line is a line that a turn sends. Its id begins with its conversation's, as Decide
// makes them, or is of another make.
func (k *kit) line(t store.Turn, text string) conversation.Line {
	id := k.id("line")
	if k.count%2 == 0 {
		id = t.State.ID + "." + id
	}
	return conversation.Line{
		ID: id, At: t.Now, Direction: conversation.Out, Text: text, Send: true,
		Gateway: "plain", From: "+15415550100", To: t.State.ID, Class: conversation.ClassReply,
	}
}

// remind commits a turn that sets a reminder, and returns its id.
func (k *kit) remind(shop, address string, due time.Time) string {
	k.Helper()
	t := k.turn(shop, address)
	r := conversation.Reminder{ID: k.id("reminder"), Due: due, Name: "timer:soak_over", Service: "s1", State: "soak"}
	t.Effects.Remind = []conversation.Reminder{r}
	k.commit(t)
	return r.ID
}

func (k *kit) load(shop, address string) conversation.Conversation {
	k.Helper()
	c, err := k.s.Load(k.ctx, shop, address)
	require.NoError(k, err)
	return c
}

// claim claims messages and returns the lines' ids.
func (k *kit) claim(n int) []string {
	k.Helper()
	out, err := k.s.ClaimOutbox(k.ctx, k.now, time.Minute, n)
	require.NoError(k, err)
	var ids []string
	for _, o := range out {
		ids = append(ids, o.Line.ID)
	}
	return ids
}

// due claims reminders and returns their ids.
func (k *kit) due(n int) []string {
	k.Helper()
	out, err := k.s.ClaimDue(k.ctx, k.now, time.Minute, n)
	require.NoError(k, err)
	var ids []string
	for _, d := range out {
		ids = append(ids, d.Reminder.ID)
	}
	return ids
}

func (k *kit) settle(results ...store.Result) {
	k.Helper()
	require.NoError(k, k.s.SettleOutbox(k.ctx, results))
}

func (k *kit) view(shop string) store.View { return k.s.View(k.ctx, shop) }

// said is the transcript's texts, oldest first.
func (k *kit) said(shop, id string) []string {
	k.Helper()
	lines, err := k.view(shop).Transcript(id, 1000)
	require.NoError(k, err)
	texts := make([]string, 0)
	for _, l := range lines {
		texts = append(texts, l.Text)
	}
	return texts
}

// delivery is the delivery state of each line, oldest first.
func (k *kit) delivery(shop, id string) []string {
	k.Helper()
	lines, err := k.view(shop).Transcript(id, 1000)
	require.NoError(k, err)
	var states []string
	for _, l := range lines {
		states = append(states, l.Delivery)
	}
	return states
}

func (k *kit) counts(shop string) store.Counts {
	k.Helper()
	c, err := k.view(shop).Counts()
	require.NoError(k, err)
	return c
}

func (k *kit) pending(shop, id string) []string {
	k.Helper()
	list, err := k.view(shop).Reminders(id)
	require.NoError(k, err)
	var ids []string
	for _, r := range list {
		ids = append(ids, r.ID)
	}
	return ids
}

// State is a conversation as it is in the middle of a service: some 1.2 KiB of JSON, so
// that measurements are of what really is written.
func State(shop, address string) conversation.Conversation {
	at := noon.Add(-40 * time.Minute)
	dose := conversation.Dose{
		Name: "flush_product", Product: "Line Flush", Spoons: 3, Measure: "3 level teaspoons", USGal: 375, At: at,
	}
	return conversation.Conversation{
		Shop: shop, ID: address,
		Owner: conversation.Owner{
			Name: "Robin", Addresses: []string{address}, Language: "en", TimeZone: "America/Los_Angeles", Region: "US",
		},
		Tub: conversation.Tub{
			VolumeUSGal: 375, VolumeBy: "owner", Sanitizer: "chlorine", HeaterKW: 5.5, HoseGPM: 7, PumpGPH: 1800,
			LastAddition: at, JarSpoons: map[string]float64{"Line Flush": 9},
		},
		Service: &conversation.Service{
			ID: "s1", Flow: "flush_plumbing", State: "soak", Started: at.Add(-time.Hour), Since: at,
			Facts:  map[string]string{"filters": "in_the_water", "headrests": "off", "drain_pump": "yes"},
			Stamps: map[string]time.Time{"product_in": at, "jets_high": at.Add(time.Minute)},
			Added:  map[string]conversation.Dose{"flush_product": dose},
			Timers: map[string]conversation.Pending{"soak_over": {ID: address + "/r7", Due: at.Add(30 * time.Minute)}},
		},
		Asked:  conversation.Asked{Kind: understand.AskedChoice, Choices: []string{"yes", "no", "not_yet"}},
		LastIn: at, LastOut: at.Add(time.Second), Made: 17,
	}
}
