package conversation

import (
	"strings"

	"tubhand/internal/flow"
	"tubhand/internal/safety"
	"tubhand/internal/understand"
	"tubhand/internal/wording"
)

// textIn handles an owner's words: danger first, then the wish to be left alone, then
// everything else.
func (t *turn) textIn() {
	t.meet()
	said := t.printedCode(t.ev.Text)
	t.consents()
	m := t.w.heard.understand(said, t.hearing())
	t.tooHot(&m)
	t.startWord(&m)
	t.troubleWord(&m)
	t.linkWord(&m)
	t.helpWord(&m)
	t.dayWord(&m)
	t.heard = m
	t.see(m)
	t.line(Line{Direction: In, Text: t.ev.Text, From: t.ev.From, To: t.ev.To, Gateway: t.ev.Gateway, Understood: gist(m)})
	t.tellRemark()
	t.c.LastIn, t.alive = t.now, true
	t.settleLanguage(m)
	switch {
	case m.Severity == safety.Emergency:
		t.danger()
	case m.Intent == understand.StopMessages:
		t.optOut()
	case t.c.OptedOut:
		t.whileOptedOut()
	case m.Severity == safety.PersonSoon:
		t.danger()
	case t.c.Hold != nil:
		t.whileHeld()
	case strings.TrimSpace(t.ev.Text) == "":
		t.say("empty")
	case t.code != "" && said == "":
		t.say("menu")
	default:
		t.answer()
	}
}

// meet takes what the channel knows of someone who writes for the first time.
func (t *turn) meet() {
	o := &t.c.Owner
	if len(o.Addresses) == 0 {
		o.Addresses = []string{t.ev.From}
	}
	t.answerHere()
	t.settleOut()
	if o.TimeZone == "" {
		o.TimeZone = t.ev.TimeZone
	}
	if o.Region == "" {
		o.Region = t.ev.Region
	}
	if o.Language == "" {
		o.Language = t.ev.Language
	}
}

// settleLanguage takes the language of the first texts where nothing is known yet and
// the shop speaks it.
func (t *turn) settleLanguage(m understand.Meaning) {
	if t.c.Owner.Language == "" && m.Language != "" && t.speaks(m.Language) {
		t.c.Owner.Language = m.Language
	}
}

func (t *turn) speaks(language string) bool {
	for _, l := range t.w.words.Languages() {
		if l == language {
			return true
		}
	}
	return false
}

// hearing is the context that the text is understood in.
func (t *turn) hearing() understand.Context {
	h := understand.Context{
		Language: t.c.Owner.Language, Asked: t.c.Asked.Kind,
		AskedReadings: t.c.Asked.Readings, Proposed: t.c.Asked.Proposed,
	}
	if h.Asked == "" {
		h.Asked = understand.AskedNothing
	}
	for _, name := range t.c.Asked.Choices {
		choice := understand.Choice{Name: name}
		if words, ok := t.w.words.Say(t.language(), t.flowName(), "choices."+name, &wording.Words{}); ok {
			for word := range strings.SplitSeq(words, ",") {
				choice.Words = append(choice.Words, strings.TrimSpace(word))
			}
		}
		h.Choices = append(h.Choices, choice)
	}
	f, s, ok := t.flow()
	if !ok {
		return h
	}
	h.Step = s.Step
	if h.Asked == understand.AskedNothing {
		if soon := t.askedSoon(f, s); len(soon) > 0 {
			h.Asked, h.AskedReadings = understand.AskedReadings, soon
		}
	}
	return h
}

// askedSoon are the readings that the running wait will end with: an owner who tests
// early sends them bare, as if they had been asked for.
func (t *turn) askedSoon(f *flow.Flow, s *flow.State) []understand.Quantity {
	for _, timer := range s.Timers {
		if next, ok := f.State(timer.To); ok && len(next.Ask.Readings) > 0 {
			return t.quantities(next.Ask.Readings)
		}
	}
	return nil
}

// gist puts what was understood in a few words, for staff.
func gist(m understand.Meaning) string {
	parts := []string{string(m.Intent)}
	if m.Service != "" {
		parts = append(parts, m.Service)
	}
	if m.Choice != "" {
		parts = append(parts, m.Choice)
	}
	for _, q := range ordered(m.Readings) {
		parts = append(parts, english.reading(q, m.Readings[q]))
	}
	if m.Volume != nil && !m.Volume.Unknown {
		parts = append(parts, english.volume(m.Volume.LowUSGal, false))
	}
	if m.Hazard != safety.NoHazard && m.Hazard != "" {
		parts = append(parts, "danger: "+string(m.Hazard)+" ("+string(m.Severity)+")")
	}
	if m.Clarify {
		parts = append(parts, "ask back")
	}
	return strings.Join(parts, ", ")
}

// answer goes through what the text can mean, most binding first.
func (t *turn) answer() {
	m := t.heard
	if t.answerConsent(m) || t.putOff() || t.overAfterAll(m) || t.link() || t.jarTold() || t.answerStock(m) || t.calendar(m) {
		t.c.Misses = 0
		return
	}
	t.unsettle(m)
	if t.c.Service != nil {
		t.c.Service.Paused = false
		t.c.Service.Nudged = 0
	}
	for _, try := range []func(understand.Meaning) bool{
		t.tellImpossible, t.askBack, t.clearly, t.tellVolume, t.tellReadings, t.advance, t.interrupt, t.begin,
	} {
		if try(m) {
			t.c.Misses = 0
			return
		}
	}
	t.miss()
}

// askBack asks before anything doubtful is used.
func (t *turn) askBack(m understand.Meaning) bool {
	asked := t.c.Asked
	if asked.Kind == understand.AskedConfirm && m.Intent == understand.No && len(m.Readings) == 0 && m.Volume == nil {
		t.unask()
		t.say("confirm.no")
		return true
	}
	if !m.Clarify || t.hasNone(m) {
		return false
	}
	if len(m.Proposal) == 0 {
		if len(m.Readings) > 0 || m.Volume != nil || asked.Kind == understand.AskedReadings || asked.Kind == understand.AskedVolume {
			t.unclear()
			return true
		}
		return false
	}
	words := t.words()
	key := "confirm"
	if gal, ok := m.Proposal["us_gal"]; ok {
		key, words.Volume = "confirm.volume", t.tongue().volume(gal, t.c.Owner.Metric)
	} else {
		words.Reading = t.tongue().proposal(m.Proposal)
	}
	was := asked.Kind
	if was == understand.AskedConfirm {
		was = asked.Was
	}
	t.c.Asked = Asked{Kind: understand.AskedConfirm, Proposed: m.Proposal, Was: was, Readings: asked.Readings, Choices: asked.Choices}
	t.sayWith(key, words)
	return true
}

// hasNone tells whether a bare no answers a question for readings: our texts say that who
// has no strips may reply so.
func (t *turn) hasNone(m understand.Meaning) bool {
	return t.c.Asked.Kind == understand.AskedReadings && m.Intent == understand.No && len(m.Readings) == 0 && bare(t.ev.Text) == "no"
}

// unclear asks for something that can be used; the third time in a row a person looks.
func (t *turn) unclear() {
	t.c.Unclear++
	if t.c.Unclear < 3 {
		t.say("clarify")
		return
	}
	t.c.Unclear = 0
	t.handOver("not_understood", safety.Technician, false)
	t.say("miss.person")
}

// clearly ends a row of texts that could not be used. It answers nothing itself.
func (t *turn) clearly(understand.Meaning) bool {
	t.c.Unclear = 0
	return false
}

// unask goes back from a confirmation to the question before it.
func (t *turn) unask() {
	if t.c.Asked.Kind == understand.AskedConfirm {
		t.c.Asked = Asked{Kind: t.c.Asked.Was, Readings: t.c.Asked.Readings, Choices: t.c.Asked.Choices}
	}
}

// miss answers a text that means nothing here: a hint, then the step again, then a person.
func (t *turn) miss() {
	t.c.Misses++
	switch {
	case t.c.Misses >= 3:
		t.c.Misses = 0
		t.handOver("not_understood", safety.Technician, false)
		t.say("miss.person")
	case t.c.Misses == 2 && t.c.Service != nil:
		t.again()
	case t.c.Service == nil:
		t.say("menu.again")
	default:
		t.say("miss")
	}
}
