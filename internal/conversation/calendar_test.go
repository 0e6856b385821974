package conversation_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tubhand/internal/conversation"
	"tubhand/internal/understand"
)

const oneDay = 24 * time.Hour

// dueForFlush is a walk whose owner has been told that a flush is due.
func dueForFlush(t testing.TB, w *conversation.World) *walk {
	t.Helper()
	k := newWalk(w)
	k.text("hi")
	k.c.Tub.VolumeUSGal, k.c.Tub.LastFlush = 375, k.now.Add(-120*oneDay)
	k.c.Consent.Record = append(k.c.Consent.Record, conversation.Agreement{For: conversation.ForMonths, Given: true})
	k.c.Consent.Seasonal = map[string]conversation.Pending{"flush_plumbing": {ID: "due"}}
	k.do(conversation.Event{ID: "due", Kind: conversation.ReminderDue, Reminder: conversation.Reminder{ID: "due", Name: "seasonal:flush_plumbing"}})
	require.Contains(t, k.said(), "next one is due")
	return k
}

// TestADayOfTheOwners: whatever day and hour is named, what is kept lies ahead, within the
// hours in which owners may be texted, and is the only reminder there is.
func TestADayOfTheOwners(t *testing.T) {
	w := world(t)
	rapid.Check(t, func(rt *rapid.T) {
		k := dueForFlush(t, w)
		k.now = k.now.Add(time.Duration(rapid.IntRange(0, 6*24*60).Draw(rt, "minutes")) * time.Minute)
		days := rapid.SampledFrom([]string{"Saturday", "tomorrow", "in 2 weeks", "Sunday", "next week", "today", "6/20", "the 3rd"})
		hours := rapid.SampledFrom([]string{"", " 10", " at 7 am", " 11 pm", " at 23:30", " at noon", " morning"})
		for range rapid.IntRange(1, 3).Draw(rt, "times") {
			k.text(days.Draw(rt, "day") + hours.Draw(rt, "hour"))
			k.text(rapid.SampledFrom([]string{"yes", "no", "yes please", "later", "move to Sunday"}).Draw(rt, "answer"))
		}
		p, ok := k.c.Consent.Seasonal["planned/flush"]
		if !ok {
			return
		}
		local := p.Due.In(mustZone(t, "America/Los_Angeles"))
		require.True(rt, p.Due.After(k.now))
		require.True(rt, local.Hour() >= 8 && local.Hour() < 21, local)
		require.Len(rt, k.pending, 1)
	})
}

func TestAPlanIsOverWhenTheJobBegins(t *testing.T) {
	k := dueForFlush(t, world(t))
	k.text("Saturday 10")
	k.text("flush my pipes")
	require.NotNil(t, k.c.Service)
	require.Nil(t, k.c.Calendar.Open, "a yes is the service's from here")
}

func TestAQuestionAboutAJobDoesNotStayOpen(t *testing.T) {
	k := dueForFlush(t, world(t))
	k.text("Saturday 10")
	k.now = k.now.Add(8 * oneDay)
	k.text("yes")
	require.Empty(t, k.c.Consent.Seasonal)
	require.NotContains(t, k.said(), "Kept")
}

func TestAHazardIsNoDay(t *testing.T) {
	k := dueForFlush(t, world(t))
	k.text("Saturday 10 my son swallowed some granules")
	require.Contains(t, k.said(), "911")
}

func TestOtherJobsNeedAnAgreementOfTheirOwn(t *testing.T) {
	for _, agreed := range []bool{false, true} {
		k := newWalk(world(t))
		k.text("hi")
		if agreed {
			k.c.Consent.Record = append(k.c.Consent.Record, conversation.Agreement{For: conversation.ForChores, Given: true})
		}
		k.c.Tub.VolumeUSGal, k.c.Tub.Changed, k.c.Tub.Sanitizer = 375, k.now.Add(-50*oneDay), "chlorine"
		k.text("test")
		for _, text := range []string{"4 7.4 100 101", "yes", "yes"} {
			if k.c.Service != nil {
				k.text(text)
			}
		}
		require.Nil(t, k.c.Service, "%s", k.said())
		chores, ok := k.c.Consent.Seasonal["chores"]
		require.Equal(t, agreed, ok)
		if !agreed {
			continue
		}
		local := chores.Due.In(mustZone(t, "America/Los_Angeles"))
		require.Contains(t, []time.Weekday{time.Saturday, time.Sunday}, local.Weekday())
		require.Equal(t, 10, local.Hour())
		texts := 0
		for range 8 { // nobody answers for as long as anything is set
			next, ok := k.c.Consent.Seasonal["chores"]
			if !ok {
				break
			}
			require.GreaterOrEqual(t, next.Due.Sub(k.now), 6*oneDay)
			k.now = next.Due
			k.do(conversation.Event{ID: next.ID, Kind: conversation.ReminderDue, Reminder: conversation.Reminder{ID: next.ID, Name: "seasonal:chores"}})
			texts += len(k.out)
			require.Contains(t, k.said(), "this is due")
		}
		require.Equal(t, 2, texts, "who does not answer twice is left alone")
	}
}

func TestRefillsFollowBathersAndWhatDosesLeave(t *testing.T) {
	refill := func(facts conversation.Tub) time.Duration {
		for _, d := range conversation.DueChores(&conversation.Conversation{Tub: facts}) {
			if d.Chore == conversation.ChoreRefill {
				return d.At.Sub(start).Round(time.Hour)
			}
		}
		return 0
	}
	facts := conversation.Tub{VolumeUSGal: 375, Changed: start}
	require.Equal(t, 1500*time.Hour, refill(facts), "375 / 3 / 2 days")
	facts.Bathers = 5
	require.Equal(t, 25*oneDay, refill(facts))
	facts.Bathers = 0.2
	require.Equal(t, 180*oneDay, refill(facts))
	facts.Wear = conversation.Wear{From: start, Last: start.Add(20 * oneDay), Solids: 500}
	require.Equal(t, 60*oneDay, refill(facts), "1500 mg/L at 500 in 20 days: Maine 10-144 CMR ch. 202 App. B")
	facts.Wear.Last = start.Add(2 * oneDay)
	require.Equal(t, 180*oneDay, refill(facts), "two days say nothing")
	facts.Wear = conversation.Wear{From: start, Last: start.Add(20 * oneDay), Cyanuric: 10}
	low := refill(facts)
	facts.Readings = map[understand.Quantity]conversation.Measured{understand.CyanuricAcid: {At: start.Add(oneDay), Value: understand.Value{Low: 40, High: 40}}}
	require.Less(t, refill(facts), low, "a reading that is more than the doses explain counts")
}

func TestFlushesFollowUse(t *testing.T) {
	flush := func(facts conversation.Tub) time.Duration {
		facts.LastFlush = start
		for _, d := range conversation.DueChores(&conversation.Conversation{Tub: facts}) {
			if d.Chore == conversation.ChoreFlush {
				return d.At.Sub(start)
			}
		}
		return 0
	}
	require.Equal(t, 120*oneDay, flush(conversation.Tub{}))
	require.Equal(t, 90*oneDay, flush(conversation.Tub{VolumeUSGal: 300, Bathers: 6}))
	require.Equal(t, 125*oneDay, flush(conversation.Tub{VolumeUSGal: 375, Bathers: 2}))
	require.Equal(t, 180*oneDay, flush(conversation.Tub{VolumeUSGal: 500, Bathers: 0.5}))
}

func TestWhatIsLeftIsNeverInvented(t *testing.T) {
	shop := world(t).Shop()
	c := conversation.Conversation{Tub: conversation.Tub{VolumeUSGal: 375}}
	_, ok := conversation.FlushesLeft(&c, &shop.Flush)
	require.False(t, ok, "nobody has said how full the jar is")
	k := newWalk(world(t))
	k.text("new jar")
	require.Equal(t, shop.Flush.JarTeaspoons, k.c.Tub.JarSpoons[shop.Flush.Name])
	_, ok = conversation.FlushesLeft(&k.c, &shop.Flush)
	require.False(t, ok, "nor how large the tub is")
	k.c.Tub.VolumeUSGal = 375
	n, ok := conversation.FlushesLeft(&k.c, &shop.Flush)
	require.True(t, ok)
	require.Positive(t, n)
	k.text("jar is empty")
	n, ok = conversation.FlushesLeft(&k.c, &shop.Flush)
	require.True(t, ok)
	require.Zero(t, n)
	k.text("maybe")
	k.text("yes")
	require.Empty(t, k.c.Open, "asked once: what is not answered is no yes")
}
