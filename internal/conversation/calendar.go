package conversation

import (
	"slices"
	"strings"
	"time"

	"tubhand/internal/understand"
	"tubhand/internal/wording"
)

// Jobs that come round are asked about once, and planned where the owner names a day: the
// day is read back, counts after a yes, and is reminded of once. Nobody is asked again who
// does not answer.

// Calendar is what an owner is being asked about the jobs that come round on the tub. Days
// that were agreed on are reminders (Consent.Seasonal).
type Calendar struct {
	Open    *Plan     `json:"open,omitempty"`    // the question that is open
	Asked   time.Time `json:"asked,omitzero"`    // when the owner was last asked about any job but the flush
	Silent  int       `json:"silent,omitempty"`  // questions in a row that were not answered
	Stock   *Offer    `json:"stock,omitempty"`   // whether to put product aside: the question that is open
	Offered time.Time `json:"offered,omitzero"`  // when that was last asked
	Refused bool      `json:"refused,omitempty"` // the last answer to it was a no
}

// Plan is a job that an owner was asked about, and the day that they named.
type Plan struct {
	Chore Chore     `json:"chore"`
	Since time.Time `json:"since"`
	At    time.Time `json:"at,omitzero"`     // named, and waiting for a yes
	Again bool      `json:"again,omitempty"` // LATER was said before: it is not asked once more
}

func (c Calendar) clone() Calendar {
	c.Open, c.Stock = copied(c.Open), copied(c.Stock)
	return c
}

// The names of reminders, after seasonal, of a day that was agreed on, of asking once more
// after LATER, and of asking about what is due.
const (
	plannedFor = "planned/"
	askAgain   = "again/"
	askChores  = "chores"
)

// How long a question about a job can be answered, and after how long LATER asks once
// more. Our decisions.
const (
	planCounts = 7 * 24 * time.Hour
	laterAfter = 7 * 24 * time.Hour
)

// calendarTexts is where the texts about jobs stand.
const calendarTexts = "calendar"

// sayCalendar says a text about a job.
func (t *turn) sayCalendar(key string, chore Chore, at time.Time) {
	words := t.words()
	if chore != "" {
		words.Chore, words.Next = t.choreName(chore), t.startWordOf(choreService(chore))
	}
	if !at.IsZero() {
		words.Day = t.tongue().dayAndHour(at.In(t.zone()))
	}
	if text, ok := t.w.words.Say(t.language(), calendarTexts, key, words); ok && text != "" {
		t.says = append(t.says, text)
	}
}

func (t *turn) choreName(chore Chore) string {
	name, _ := t.w.words.Say(t.language(), calendarTexts, "chore."+string(chore), &wording.Words{})
	return name
}

// choreService is what starts for a job, as startable names it.
func choreService(chore Chore) string {
	switch chore {
	case ChoreTest:
		return "test_water"
	case ChoreFilters, ChoreRinse:
		return "clean_filters"
	case ChoreRefill:
		return "drain"
	}
	return "flush_plumbing"
}

// choreOf is the job that a flow does; "" for none.
func choreOf(flowName string) Chore {
	switch flowName {
	case "flush_plumbing":
		return ChoreFlush
	case "test_water":
		return ChoreTest
	case "clean_filters":
		return ChoreFilters
	case "drain_refill":
		return ChoreRefill
	}
	return ""
}

// openPlan opens the question about a job.
func (t *turn) openPlan(chore Chore, again bool) {
	t.c.Calendar.Open = &Plan{Chore: chore, Since: t.now, Again: again}
}

// calendar takes what owners say about jobs that come round, where nothing is running: the
// answer to an open question, another day for what was agreed on, the wish to see the list.
func (t *turn) calendar(m understand.Meaning) bool {
	if t.c.Service != nil {
		return false
	}
	t.c.Calendar.Silent = 0
	plan := t.c.Calendar.Open
	if plan != nil && t.now.Sub(plan.Since) > planCounts {
		plan, t.c.Calendar.Open = nil, nil
	}
	if t.says1("choices.calendar") {
		t.tellCalendar()
		return true
	}
	if plan == nil {
		plan = t.keptPlan()
	}
	if plan == nil {
		return false
	}
	switch {
	case t.says1("choices.drop"):
		t.dropPlan(plan.Chore)
		t.sayCalendar("dropped", plan.Chore, time.Time{})
	case t.says1("choices.later"):
		t.later(*plan)
	default:
		return t.planDay(*plan) || t.planAnswer(*plan, m)
	}
	return true
}

// dayWord keeps a day that is waited for from being read as anything else ("in 2 weeks morning"
// as a question about a pregnancy): what it may consist of is a closed list without a word of
// danger or of opting out.
func (t *turn) dayWord(m *understand.Meaning) {
	if t.c.Service != nil || t.c.Hold != nil || t.c.OptedOut || t.c.Calendar.Open == nil && t.keptPlan() == nil {
		return
	}
	if _, ok := readDayHour(t.ev.Text, t.now.In(t.zone())); ok {
		t.readAs(m, understand.Answer, "", "")
	}
}

// says1 tells whether the text is one of the words under a key of the texts about jobs.
func (t *turn) says1(key string) bool {
	said := bare(t.ev.Text)
	for _, language := range t.w.words.Languages() {
		list, _ := t.w.words.Say(language, calendarTexts, key, &wording.Words{})
		for word := range strings.SplitSeq(list, ",") {
			if said != "" && strings.TrimSpace(word) == said {
				return true
			}
		}
	}
	return false
}

// keptPlan is the next job whose day was agreed on; nil where there is none.
func (t *turn) keptPlan() *Plan {
	var next *Plan
	for _, name := range sortedKeys(t.c.Consent.Seasonal) {
		chore, ok := strings.CutPrefix(name, plannedFor)
		if p := t.c.Consent.Seasonal[name]; ok && (next == nil || p.Due.Before(next.At)) {
			next = &Plan{Chore: Chore(chore), Since: t.now, At: p.Due}
		}
	}
	return next
}

// planDay takes a day and an hour, and reads them back. An hour alone is one of the day that
// was named before.
func (t *turn) planDay(plan Plan) bool {
	local := t.now.In(t.zone())
	named, ok := readDayHour(t.ev.Text, local)
	if !ok || named.day.IsZero() && plan.At.IsZero() {
		return false
	}
	day, minute := named.day, named.minute
	before := plan.At.In(t.zone())
	if day.IsZero() {
		day = before
	}
	if minute < 0 {
		minute = seasonHour * 60
		if !plan.At.IsZero() {
			minute = before.Hour()*60 + before.Minute()
		}
	}
	at := t.decent(time.Date(day.Year(), day.Month(), day.Day(), minute/60, minute%60, 0, 0, local.Location()))
	t.openPlan(plan.Chore, plan.Again)
	if !at.After(t.now) || at.After(t.now.AddDate(0, 0, furthest)) {
		t.sayCalendar("which_day", plan.Chore, time.Time{})
		return true
	}
	t.c.Calendar.Open.At = at
	t.sayCalendar("confirm", plan.Chore, at)
	return true
}

// planAnswer takes a yes or no to the question that is open.
func (t *turn) planAnswer(plan Plan, m understand.Meaning) bool {
	open := t.c.Calendar.Open
	if open == nil || t.c.Asked.Kind != "" || t.c.Calendar.Stock != nil {
		return false
	}
	switch {
	case m.Intent == understand.Yes && plan.At.IsZero():
		t.sayCalendar("which_day", plan.Chore, time.Time{})
	case m.Intent == understand.Yes:
		t.keepPlan(plan)
	case t.refuses(m) && !plan.At.IsZero():
		t.c.Calendar.Open.At = time.Time{} // that day only: another may be named
		t.sayCalendar("not_that_day", plan.Chore, time.Time{})
	case t.refuses(m):
		t.dropPlan(plan.Chore)
		t.sayCalendar("dropped", plan.Chore, time.Time{})
	default:
		return false
	}
	return true
}

// refuses tells whether a question was answered with a no; "no thanks" is one.
func (t *turn) refuses(m understand.Meaning) bool {
	first, _, _ := strings.Cut(bare(t.ev.Text), " ")
	return m.Intent == understand.No || m.Intent == understand.Thanks && strings.TrimRight(first, ",.") == "no"
}

// keepPlan agrees on a day: it takes the place of every other reminder of the job but the
// season's next.
func (t *turn) keepPlan(plan Plan) {
	if !plan.At.After(t.now) {
		t.c.Calendar.Open.At = time.Time{}
		t.sayCalendar("which_day", plan.Chore, time.Time{})
		return
	}
	t.dropPlan(plan.Chore)
	t.setSeasonal(plannedFor+string(plan.Chore), plan.At)
	t.note("Planned by the owner: " + spaced(string(plan.Chore)) + ", " + english.dayAndHour(plan.At.In(t.zone())))
	t.sayCalendar("kept", plan.Chore, plan.At)
	if plan.Chore == ChoreFlush {
		t.offerStock(plan.At)
	}
}

// dropPlan takes back what was agreed on or is to be asked once more about a job.
func (t *turn) dropPlan(chore Chore) {
	t.c.Calendar.Open = nil
	for _, name := range [...]string{plannedFor + string(chore), askAgain + string(chore)} {
		if p, ok := t.c.Consent.Seasonal[name]; ok {
			t.takeBack(p)
			delete(t.c.Consent.Seasonal, name)
		}
	}
}

// later asks once more in a week; who says so a second time is left alone.
func (t *turn) later(plan Plan) {
	t.dropPlan(plan.Chore)
	if plan.Again {
		t.sayCalendar("later.last", plan.Chore, time.Time{})
		return
	}
	t.openPlan(plan.Chore, true)
	t.setSeasonal(askAgain+string(plan.Chore), t.seasonDay(laterAfter))
	t.sayCalendar("later", plan.Chore, time.Time{})
}

// tellCalendar lists what comes round on the tub and what was agreed on.
func (t *turn) tellCalendar() {
	words := t.words()
	for _, d := range DueChores(&t.c) {
		if d.Chore == ChoreRinse || len(words.Summary) > 120 {
			continue
		}
		day := t.tongue().day(d.At.In(t.zone()))
		if !d.At.After(t.now) {
			day, _ = t.w.words.Say(t.language(), calendarTexts, "now", words)
		}
		if words.Summary != "" {
			words.Summary += "; "
		}
		words.Summary += t.choreName(d.Chore) + " " + day
	}
	key := "list"
	if words.Summary == "" {
		key = "list.nothing"
	}
	if text, ok := t.w.words.Say(t.language(), calendarTexts, key, words); ok {
		t.says = append(t.says, upperFirst(text))
	}
}

// choreDone takes back what was planned for a job that a service has done.
func (t *turn) choreDone(flowName string) {
	chore := choreOf(flowName)
	if chore == "" {
		return
	}
	put(&t.c.Tub.Done, chore, t.now)
	for _, done := range slices.Concat([]Chore{chore}, map[Chore][]Chore{ChoreFlush: {ChoreRefill, ChoreFilters}}[chore]) {
		t.dropPlan(done)
	}
}
