package conversation

import (
	"time"

	"tubhand/internal/flow"
	"tubhand/internal/understand"
	"tubhand/internal/wording"
)

// The hours, in minutes after midnight, between which the law lets a business text
// somebody who does not wait for it: 8 am to 9 pm where they are, 47 CFR 64.1200(c)(1).
// A shop may narrow them in its file, and never widen them.
const (
	EarliestText = 8 * 60
	LatestText   = 21 * 60
)

// ConsentRules are what a shop has laid down about texting its owners. The zero value
// takes what is usual.
type ConsentRules struct {
	From, Until      int               // minutes after midnight on the owner's clock; Until 0: what the law leaves
	NudgesPerDay     int               // nudges to one owner in 24 hours; 0: usualPerDay
	NudgesPerService int               // in one service; 0: usualPerService
	Printed          map[string]string // words printed at the shop that owners text first, in capitals: what is printed with them
}

// How often an owner who does not answer is asked again. Our decisions; a moment at which
// somebody or something may come to harm is not counted.
const (
	usualPerDay     = 6
	usualPerService = 10
)

// textHours are the hours for texts that the owner does not wait for.
func (t *turn) textHours() (from, until int) {
	rules := t.w.shop.Consent
	if rules.Until == 0 {
		return EarliestText, LatestText
	}
	return max(rules.From, EarliestText), min(rules.Until, LatestText)
}

// quietAt tells whether a time is in the owner's quiet hours.
func (t *turn) quietAt(at time.Time) bool {
	local := at.In(t.zone())
	from, until := t.textHours()
	minute := local.Hour()*60 + local.Minute()
	return minute < from || minute >= until
}

// decent moves a time out of the owner's quiet hours.
func (t *turn) decent(at time.Time) time.Time {
	if !t.quietAt(at) {
		return at
	}
	from, until := t.textHours()
	local := at.In(t.zone())
	day := local.Day()
	if local.Hour()*60+local.Minute() >= until {
		day++
	}
	return time.Date(local.Year(), local.Month(), day, from/60, from%60, 0, 0, local.Location())
}

// decentHour moves a nudge, or the word that a person looks in, out of the owner's quiet
// hours unless the tub is at a moment that can't wait.
func (t *turn) decentHour(due time.Time) time.Time {
	if cantWait(t.physical()) {
		return due
	}
	return t.decent(due)
}

// cantWait tells whether a tub must not be left as it is over a night.
func cantWait(p flow.Tub) bool { return p.Product == "in" || p.Water != "full" }

// mayNudge tells whether one more nudge is within what an owner is to be asked.
func (t *turn) mayNudge() bool {
	if riskOf(t.physical()) != noRisk {
		return true
	}
	rules := t.w.shop.Consent
	if t.c.Service.Nudges >= atLeastOne(rules.NudgesPerService, usualPerService) {
		return false
	}
	today := 0
	for _, at := range t.c.Consent.Nudges {
		if t.now.Sub(at) < 24*time.Hour {
			today++
		}
	}
	return today < atLeastOne(rules.NudgesPerDay, usualPerDay)
}

func atLeastOne(set, usual int) int {
	if set > 0 {
		return set
	}
	return usual
}

// nudged counts a nudge.
func (t *turn) nudged() {
	t.c.Service.Nudges++
	kept := t.c.Consent.Nudges[:0]
	for _, at := range t.c.Consent.Nudges {
		if t.now.Sub(at) < 24*time.Hour {
			kept = append(kept, at)
		}
	}
	t.c.Consent.Nudges = append(kept, t.now)
}

// What an owner has been told of the night in a service (Service.Night).
const (
	nightOffered = "offered" // that the soak ends late, and that it may begin tomorrow
	nightWelcome = "welcome" // texts at night were said to be welcome
)

// askNight asks, where a wait begins that ends in the quiet hours, whether to text then.
// The owner waits for it, so silence is no refusal. Where water is being moved the word
// can't wait and nothing is asked.
func (t *turn) askNight(s *flow.State) {
	service := t.c.Service
	if service == nil || len(s.Timers) == 0 || t.byMail() || t.ev.Kind == StaffAct || s.Ask.Done || s.Ask.YesNo || s.Ask.Volume ||
		s.Ask.Time || len(s.Ask.Readings) > 0 || len(s.Ask.Choice) > 0 {
		return
	}
	p := t.physical()
	if p.Water != "full" || service.Night == nightWelcome || service.Night == nightOffered && p.Product == "in" {
		return
	}
	for _, timer := range s.Timers {
		key := timerKey(service.Flow, s.Name, timer.Name)
		if pending, ok := service.Timers[key]; ok && t.quietAt(pending.Due) {
			ask := "night.ask"
			if p.Product == "in" {
				ask = "night.ask.product"
			}
			t.sayAsking(ask, Asking{For: ForNight, Timer: key}, pending.Due)
			return
		}
	}
}

// answerNight keeps the agreement, or moves the word to the morning.
func (t *turn) answerNight(q Asking, yes bool) bool {
	s := t.c.Service
	if s == nil {
		return false
	}
	pending, ok := s.Timers[q.Timer]
	if !ok {
		t.c.Consent.Asking = nil // the wait is over
		return false
	}
	t.agreed(Agreement{How: Answered, For: ForNight, Given: yes, Wording: q.Wording})
	words := t.words()
	if yes {
		s.Night = nightWelcome
		words.Until = t.when(pending.Due)
		t.sayWith("night.yes", words)
		return true
	}
	key := "night.no"
	if t.physical().Product == "in" {
		key = "night.no.product"
	}
	morning := t.decent(pending.Due)
	put(&s.Stamps, waitedUntil, pending.Due)
	t.remind(q.Timer, morning)
	words.Until, words.Time = t.when(morning), t.when(pending.Due)
	t.sayWith(key, words)
	return true
}

// waitedUntil is the stamp of when a wait really ends whose word was moved to the morning.
const waitedUntil = "waited_until"

// overAfterAll takes the word that they go on from an owner who wanted no text at night:
// the wait is over, though its word is still to come.
func (t *turn) overAfterAll(m understand.Meaning) bool {
	s := t.c.Service
	if s == nil || m.Intent != understand.Done {
		return false
	}
	_, state, ok := t.flow()
	if at, moved := s.Stamps[waitedUntil]; !ok || !moved || t.now.Before(at) {
		return false
	}
	delete(s.Stamps, waitedUntil)
	for i := range state.Timers {
		timer := &state.Timers[i]
		key := timerKey(s.Flow, state.Name, timer.Name)
		if _, pending := s.Timers[key]; !pending {
			continue
		}
		if tr, ok := timer.Due(view{t}); ok {
			t.cancel(key)
			t.apply(tr)
			return true
		}
	}
	return false
}

// beforeSoak is how long it takes from the start of a flush until its product is in; only
// to see the night coming. Our decision.
const beforeSoak = 20 * time.Minute

// offerMorning tells an owner who begins late in the evening when the soak would end, and
// that it can begin in the morning: once the product is in it is too late for that.
func (t *turn) offerMorning(f *flow.Flow) {
	if t.c.Service == nil || t.c.Service.Flow != f.Name || t.byMail() || t.ev.Kind == StaffAct {
		return
	}
	end, ok := soakOf(f)
	if !ok || !t.quietAt(t.now.Add(beforeSoak+end)) {
		return
	}
	t.c.Service.Night = nightOffered
	words := t.words()
	words.Until = t.when(t.now.Add(beforeSoak + end).Round(5 * time.Minute))
	t.sayWith("night.offer", words)
}

// soakOf is how long a flow's product stays in; false where it uses none.
func soakOf(f *flow.Flow) (time.Duration, bool) {
	for _, s := range f.States {
		for _, timer := range s.Timers {
			if d, err := time.ParseDuration(timer.After); err == nil && s.Tub.Product == "in" && s.Step == "soak" {
				return d, true
			}
		}
	}
	return 0, false
}

// atLeastNight is how far off tomorrow is at least, for somebody who puts off at half past
// midnight. Our decision.
const atLeastNight = 8 * time.Hour

// putOff takes the word for tomorrow while nothing has been done to the tub yet: the
// service ends, and the owner is asked in the morning.
func (t *turn) putOff() bool {
	s := t.c.Service
	if s == nil || s.Night != nightOffered || s.Caller != nil || len(s.Added) > 0 || cantWait(t.physical()) {
		return false
	}
	if _, ok := t.saysOneOf(t.ev.Text, "choices.tomorrow"); !ok {
		return false
	}
	flowName := s.Flow
	t.dropTimers()
	t.c.Service, t.c.Asked = nil, Asked{}
	morning := t.decent(t.now.Add(atLeastNight))
	t.setSeasonal(morningOf+flowName, morning)
	words := t.words()
	words.Until = t.when(morning)
	t.sayWith("night.tomorrow", words)
	return true
}

// startWordOf is the word that starts a flow, as the menu says it.
func (t *turn) startWordOf(flowName string) string {
	words, _ := t.w.words.Say(t.language(), wording.Common, "choices.start_"+flowName, &wording.Words{})
	return firstWord(words)
}
