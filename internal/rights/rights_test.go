package rights_test

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/rights"
	"tubhand/internal/store"
	"tubhand/internal/store/memory"
)

const (
	fern = "fernhollow"
	anna = "+15415550142"
	ben  = "+15415550143"
)

var noon = time.Date(2026, 6, 13, 12, 0, 0, 0, time.UTC)

// hasty is a clock that is at once where somebody waits for it to be.
type hasty struct{ now time.Time }

func (h *hasty) Now() time.Time { return h.now }

func (h *hasty) Wait(ctx context.Context, at time.Time, _ <-chan struct{}) error {
	if at.After(h.now) {
		h.now = at
	}
	return ctx.Err()
}

type desk struct {
	*rights.Desk
	s     *memory.Store
	clock *hasty
}

func open(t *testing.T) desk {
	t.Helper()
	s, c := memory.New(), &hasty{noon}
	return desk{rights.New(rights.Config{Store: s, Shop: fern, Clock: c, Register: rights.NewRegister(s, c, nil)}), s, c}
}

// owner commits a conversation with something of everything, and gives its state.
func (d desk) owner(t *testing.T, address string, change func(*conversation.Conversation)) conversation.Conversation {
	t.Helper()
	c := conversation.Conversation{Shop: fern, ID: address, Owner: conversation.Owner{Addresses: []string{address}, Name: "Robin"}, LastIn: d.clock.now}
	if change != nil {
		change(&c)
	}
	closed := conversation.Handover{ID: address + ".2", Conversation: address, Cause: "leak", Severity: "technician", Opened: d.clock.now, Closed: d.clock.now}
	require.NoError(t, d.s.Commit(t.Context(), store.Turn{Shop: fern, Now: d.clock.now, State: c, Effects: conversation.Effects{
		Lines:     []conversation.Line{{ID: address + ".1", At: d.clock.now, Direction: conversation.In, Text: "my secret words"}},
		Handovers: append([]conversation.Handover{closed}, c.Open...),
		Log:       []conversation.LogEntry{{ID: address + ".3", At: d.clock.now, Kind: "reading", Name: "ph"}},
		Remind:    []conversation.Reminder{{ID: address + ".4", Due: d.clock.now.Add(time.Hour), Name: "silence"}},
	}}))
	c, err := d.s.Load(t.Context(), fern, address)
	require.NoError(t, err)
	return c
}

func (d desk) audit(t *testing.T) (all []store.AuditEntry) {
	t.Helper()
	all, err := d.s.Audit(t.Context(), fern, 0, 500)
	require.NoError(t, err)
	return all
}

func TestAnExportHoldsEverything(t *testing.T) {
	d := open(t)
	c := d.owner(t, anna, nil)
	d.owner(t, ben, nil)
	require.NoError(t, d.Register.Keep(t.Context(), fern, anna, noon))
	require.NoError(t, d.s.AppendAudit(t.Context(), fern, store.AuditEntry{At: noon, Who: "dana", Act: "claim", About: anna}))
	e, err := d.Export(t.Context(), "dana", anna)
	require.NoError(t, err)
	require.Equal(t, &c, e.Conversation)
	require.Equal(t, "my secret words", e.Transcript[0].Text)
	require.Len(t, e.Log, 1)
	require.Len(t, e.Reminders, 1)
	require.Len(t, e.Handovers, 1, "not the other owner's")
	require.Equal(t, []rights.OptOut{{Address: anna, Since: noon}}, e.OptOuts)
	require.Len(t, e.Audit, 1)
	written, err := json.Marshal(e)
	require.NoError(t, err)
	require.NotContains(t, string(written), ben)
	require.Equal(t, "owner exported", d.audit(t)[0].Act)
	again, err := d.Export(t.Context(), "dana", anna)
	require.NoError(t, err)
	require.Len(t, again.Audit, 2, "that it was exported is part of it")
	_, err = d.Export(t.Context(), "dana", "+15415550199")
	require.ErrorIs(t, err, rights.ErrNothing)
}

func TestErasingLeavesNothingButTheOptOutAndCounts(t *testing.T) {
	d := open(t)
	d.owner(t, anna, func(c *conversation.Conversation) {
		c.Owner.Addresses = []string{anna, "+15415550177", "anna@owner.example"}
		c.OptOut(anna, noon.Add(-time.Hour))
		c.Open = []conversation.Handover{{ID: anna + ".9", Conversation: anna, Cause: "asked_for_person", Severity: "person_soon", Opened: noon}}
	})
	gone, err := d.Erase(t.Context(), "+15415550177", rights.Erasing{By: "dana"})
	require.NoError(t, err)
	require.Equal(t, store.Erased{Lines: 1, Entries: 1, Handovers: 2, Reminders: 1}, gone)
	for _, address := range []string{anna, "+15415550177"} {
		since, out, err := d.Register.Since(t.Context(), fern, address)
		require.NoError(t, err)
		require.True(t, out)
		require.Equal(t, noon.Add(-time.Hour), since)
	}
	_, out, err := d.Register.Since(t.Context(), fern, "anna@owner.example")
	require.NoError(t, err)
	require.False(t, out, "they never opted out of mail")
	_, err = d.Erase(t.Context(), anna, rights.Erasing{By: "dana"})
	require.ErrorIs(t, err, rights.ErrNothing)
	totals, err := d.Totals(t.Context())
	require.NoError(t, err)
	require.Equal(t, rights.Totals{Conversations: 1, Lines: 1, Entries: 1, Handovers: 2, Reminders: 1}, totals)

	documents, err := d.s.AllDocuments(t.Context(), fern, "", "", 500)
	require.NoError(t, err)
	for _, held := range []any{documents, d.audit(t)} {
		require.NotContains(t, fmt.Sprint(held), "5415550142", "nobody reads a number out of what is left")
		require.NotContains(t, fmt.Sprint(held), "secret words")
	}
	acts := d.audit(t)
	require.Equal(t, "owner erased", acts[0].Act)
	require.Equal(t, "case closed", acts[1].Act)
	require.Contains(t, acts[1].Detail, "asked_for_person")
	require.Equal(t, acts[0].About, acts[1].About)
	e, err := d.Export(t.Context(), "dana", anna)
	require.NoError(t, err, "that they opted out is still theirs to see")
	require.Nil(t, e.Conversation)
	require.Len(t, e.Audit, 2)
}

func TestNobodyIsErasedWhileAnEmergencyIsOpen(t *testing.T) {
	d := open(t)
	d.owner(t, anna, func(c *conversation.Conversation) {
		c.Open = []conversation.Handover{{ID: anna + ".9", Conversation: anna, Cause: "swallowed", Severity: "emergency", Opened: noon}}
	})
	_, err := d.Erase(t.Context(), anna, rights.Erasing{By: "dana"})
	require.ErrorIs(t, err, rights.ErrEmergency)
	_, err = d.s.Load(t.Context(), fern, anna)
	require.NoError(t, err)
	_, err = d.Erase(t.Context(), anna, rights.Erasing{By: "dana", Force: true})
	require.NoError(t, err)
}

func TestTheRegisterNeedsItsSecret(t *testing.T) {
	s, c := memory.New(), clock.NewStill(noon)
	given := rights.NewRegister(s, c, []byte("one"))
	require.NoError(t, given.Keep(t.Context(), fern, anna, noon))
	for name, secret := range map[string][]byte{"another": []byte("two"), "none": nil} {
		_, _, err := rights.NewRegister(s, c, secret).Since(t.Context(), fern, anna)
		require.ErrorIs(t, err, rights.ErrOtherKey, name)
	}
	_, out, err := rights.NewRegister(s, c, []byte("one")).Since(t.Context(), fern, anna)
	require.NoError(t, err)
	require.True(t, out)
	_, out, err = given.Since(t.Context(), "lakeside", anna)
	require.NoError(t, err)
	require.False(t, out, "another shop's")

	own := rights.NewRegister(memory.New(), c, nil)
	mine, err := own.Name(t.Context(), fern, anna)
	require.NoError(t, err)
	theirs, err := given.Name(t.Context(), fern, anna)
	require.NoError(t, err)
	require.NotEqual(t, mine, theirs, "no two installations call a number the same")
}

// However opt-outs are kept and lifted, the register is the set of those kept.
func TestTheRegisterIsASet(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r, want := rights.NewRegister(memory.New(), clock.NewStill(noon), nil), map[string]bool{}
		who := rapid.SampledFrom([]string{anna, ben, "anna@owner.example"})
		for range rapid.IntRange(1, 20).Draw(rt, "steps") {
			a := who.Draw(rt, "address")
			if want[a] = rapid.Bool().Draw(rt, "out"); want[a] {
				require.NoError(rt, r.Keep(t.Context(), fern, strings.ToUpper(a), noon))
			} else {
				require.NoError(rt, r.Lift(t.Context(), fern, a))
			}
			for _, one := range []string{anna, ben, "anna@owner.example"} {
				_, out, err := r.Since(t.Context(), fern, one)
				require.NoError(rt, err)
				require.Equal(rt, want[one], out)
			}
		}
	})
}

func TestASweepTakesWhatIsOldAndLeavesWhatIsUnderWay(t *testing.T) {
	d := open(t)
	for i := range 250 { // more than one step
		d.owner(t, fmt.Sprintf("+1541555%04d", 1000+i), nil)
	}
	d.owner(t, anna, func(c *conversation.Conversation) { c.Service = &conversation.Service{ID: "s", Flow: "flush_plumbing"} })
	d.owner(t, "+15415550155", func(c *conversation.Conversation) {
		c.Consent.Seasonal = map[string]conversation.Pending{"flush_plumbing": {ID: "r", Due: noon.AddDate(2, 0, 0)}}
	})
	d.clock.now = noon.AddDate(0, 13, 0)
	d.owner(t, ben, nil)
	keep := rights.Retention{Transcripts: 12, Cases: 12, Idle: 12, Audit: 12}
	swept, err := d.Sweep(t.Context(), rights.Retention{})
	require.NoError(t, err)
	require.Zero(t, swept, "kept for good")
	swept, err = d.Sweep(t.Context(), keep)
	require.NoError(t, err)
	require.Equal(t, rights.Swept{Lines: 2, Cases: 2, Owners: 250}, swept)
	for _, kept := range []string{anna, ben, "+15415550155"} {
		_, err := d.s.Load(t.Context(), fern, kept)
		require.NoError(t, err, kept)
	}
	lines, err := d.s.View(t.Context(), fern).Transcript(ben, 10)
	require.NoError(t, err)
	require.Len(t, lines, 1)
	require.Equal(t, "swept", d.audit(t)[0].Act)
	d.clock.now = d.clock.now.AddDate(0, 0, 1)
	swept, err = d.Sweep(t.Context(), keep)
	require.NoError(t, err)
	require.Zero(t, swept)
}

func TestASweepEndsWithItsContext(t *testing.T) {
	d := open(t)
	for i := range 401 {
		d.owner(t, fmt.Sprintf("+1541555%04d", 1000+i), nil)
	}
	d.clock.now = noon.AddDate(0, 13, 0)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := d.Sweep(ctx, rights.Retention{Idle: 12})
	require.ErrorIs(t, err, context.Canceled)
}

func TestDailyIsOnceADayAtNight(t *testing.T) {
	place, err := time.LoadLocation("America/Los_Angeles")
	require.NoError(t, err)
	c := &hasty{time.Date(2026, 10, 30, 12, 0, 0, 0, place)} // the clock goes back on November 1
	ctx, cancel := context.WithCancel(t.Context())
	var days []string
	rights.Daily(ctx, c, place, func(context.Context) {
		days = append(days, c.Now().In(place).Format("Jan 2 15:04"))
		if len(days) == 4 {
			cancel()
		}
	})
	require.Equal(t, []string{"Oct 31 03:00", "Nov 1 03:00", "Nov 2 03:00", "Nov 3 03:00"}, days)
}
