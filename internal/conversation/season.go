package conversation

import (
	"strconv"
	"strings"
	"time"
)

// Reminders that belong to no service begin their names so.
const (
	seasonal  = "seasonal:" // followed by the flow, or by morningOf and the flow
	morningOf = "morning/"
)

// seasonOf is after how long an owner who wants to be is reminded of a service.
func (t *turn) seasonOf(flowName string) (time.Duration, bool) {
	return flushEvery(&t.c.Tub), flowName == "flush_plumbing"
}

// seasonHour is the hour on the owner's clock for what nobody waits for. Our decision.
const seasonHour = 10

// askMonths asks once, at the end of a service, whether a text is welcome when the next
// one is due; who has said yes before is reminded without being asked again.
func (t *turn) askMonths(flowName string) {
	after, ok := t.seasonOf(flowName)
	if !ok {
		return
	}
	switch {
	case t.c.Allows(ForMonths):
		t.setSeasonal(flowName, t.seasonDay(after))
	case t.c.Consent.Later.IsZero():
		t.c.Consent.Later = t.now
		t.sayAsking("months.ask", Asking{For: ForMonths, Flow: flowName}, t.now)
	}
}

// agreeToReminders keeps the answer to a flow's own question whether texts are welcome when
// something is due, as it was worded; it is then not asked again.
func (t *turn) agreeToReminders(yes bool) {
	wording, _ := t.w.words.Say(t.language(), t.flowName(), t.c.Service.State, t.words())
	t.c.Consent.Later = t.now
	t.agreed(Agreement{How: Answered, For: ForMonths, Given: yes, Wording: wording})
	t.agreed(Agreement{How: Answered, For: ForChores, Given: yes, Wording: wording})
}

// seasonDay is a time at which people have time for a tub and nobody minds a text, so much
// later: the middle of a morning of the weekend. Our decision.
func (t *turn) seasonDay(after time.Duration) time.Time {
	local := t.now.Add(after).In(t.zone())
	day := local.Day()
	if w := local.Weekday(); w != time.Sunday {
		day += int(time.Saturday - w)
	}
	return t.decent(time.Date(local.Year(), local.Month(), day, seasonHour, 0, 0, 0, local.Location()))
}

// answerMonths keeps a yes or no to reminders months later.
func (t *turn) answerMonths(q Asking, yes bool) bool {
	if t.c.Service != nil {
		return false
	}
	t.agreed(Agreement{How: Answered, For: ForMonths, Given: yes, Wording: q.Wording})
	if !yes {
		t.say("months.no")
		return true
	}
	after, _ := t.seasonOf(q.Flow)
	t.setSeasonal(q.Flow, t.seasonDay(after))
	t.say("months.yes")
	return true
}

// setSeasonal sets a reminder that belongs to no service, in place of one of its name.
func (t *turn) setSeasonal(name string, due time.Time) {
	if p, ok := t.c.Consent.Seasonal[name]; ok {
		t.takeBack(p)
	}
	put(&t.c.Consent.Seasonal, name, t.set(Reminder{Name: seasonal + name, Due: due}))
}

// dropSeasonal takes all of them back.
func (t *turn) dropSeasonal() {
	for _, name := range sortedKeys(t.c.Consent.Seasonal) {
		t.takeBack(t.c.Consent.Seasonal[name])
	}
	t.c.Consent.Seasonal = nil
}

// seasonalDue says that a service is due, where that is still wanted. One that meets the
// quiet hours, since the owner's clock has changed, waits for their end; one that meets a
// service or a person who has taken over is not said at all.
func (t *turn) seasonalDue() {
	name := strings.TrimPrefix(t.ev.Reminder.Name, seasonal)
	if t.c.Consent.Seasonal[name].ID != t.ev.Reminder.ID {
		return
	}
	delete(t.c.Consent.Seasonal, name)
	flowName, morning := strings.CutPrefix(name, morningOf)
	if _, season := t.seasonOf(name); t.c.OptedOut || t.c.Hold != nil || t.c.Service != nil || season && !t.c.Allows(ForMonths) {
		return
	}
	if t.quietAt(t.now) {
		t.setSeasonal(name, t.decent(t.now))
		return
	}
	if t.calendarDue(name) {
		return
	}
	if _, planned := t.c.Consent.Seasonal[plannedFor+string(ChoreFlush)]; planned && !morning {
		return // the owner has chosen a day
	}
	t.class = ClassSeasonal
	key := "months.due"
	if morning {
		t.class, key = ClassReminder, "night.morning"
	}
	words := t.words()
	words.Next = t.startWordOf(flowName)
	if !morning {
		words.Time = monthsOf(t.now.Sub(t.c.Tub.LastFlush))
		t.openPlan(ChoreFlush, false)
	}
	t.sayWith(key, words)
}

// monthsOf says a time in whole months of 30 days.
func monthsOf(d time.Duration) string {
	return strconv.Itoa(int(max(d, 0)+15*24*time.Hour) / int(30*24*time.Hour))
}

// firstWord is the first of several words between commas, as a text tells owners to write it.
func firstWord(words string) string {
	first, _, _ := strings.Cut(words, ",")
	return strings.ToUpper(strings.TrimSpace(first))
}
