package conversation

import (
	"slices"
	"strings"

	"tubhand/internal/flow"
	"tubhand/internal/safety"
	"tubhand/internal/understand"
)

// Troubles that an owner tells with no service under way run by themselves.

// The flows that troubles outside a service start.
const (
	waterTrouble   = "trouble_water"
	faultTrouble   = "trouble_fault"
	airLockTrouble = "trouble_airlock"
	residueTrouble = "trouble_residue"
	troublePrefix  = "trouble_" // names every flow that is about a trouble
)

// troubleFlow names the flow for a trouble; "" where a person answers it.
func troubleFlow(i understand.Intent) string {
	switch i {
	case understand.CloudyWater, understand.GreenWater, understand.Smell, understand.Scale, understand.FoamTooMuch:
		return waterTrouble
	case understand.LowFlow, understand.HeaterNotHeating, understand.ErrorCodeShown, understand.GFCITrips, understand.Leak:
		return faultTrouble
	case understand.Airlock:
		return airLockTrouble
	case understand.ResidueHardToWipe:
		return residueTrouble
	}
	return ""
}

// startTrouble runs the flow for a trouble that is told with no service under way, from
// the place that its first state sends this trouble to.
func (t *turn) startTrouble(m understand.Meaning) bool {
	if t.c.Service != nil {
		return false
	}
	name, signal := troubleFlow(m.Intent), string(m.Intent)
	if sign := faultSign(t.ev.Text); sign != "" && name != waterTrouble {
		name, signal = faultTrouble, sign
	}
	if m.Intent == understand.Other && m.Service == faultTrouble {
		name, signal = faultTrouble, ""
	}
	f, ok := t.w.flows.Flow(name)
	if !ok {
		return false
	}
	t.c.Doubts = 0
	t.c.Service = &Service{ID: t.id(), Flow: f.Name, State: f.Start, Started: t.now, Since: t.now}
	t.tellFirst()
	start, _ := f.State(f.Start)
	if tr, ok := f.Match(start, []string{signal}, view{t}); ok && tr.To != "" {
		t.apply(tr)
		return true
	}
	t.enter(f.Start)
	return true
}

// troubleWord takes the menu's word for something that is wrong, and a few beside it, as
// the wish to tell which: only where nothing is running, and never for a danger.
func (t *turn) troubleWord(m *understand.Meaning) {
	if t.c.Service != nil || m.Severity.Rank() > safety.Technician.Rank() || m.Intent == understand.StopMessages {
		return
	}
	if language, ok := t.saidOneOf("choices.trouble_words"); ok {
		t.readAs(m, understand.Other, faultTrouble, language)
	}
}

// leaveTrouble ends a trouble that runs by itself, for a service that is asked for: what
// is to be known of it stands in its case. One that interrupts a service goes on.
func (t *turn) leaveTrouble() bool {
	f, _, ok := t.flow()
	if !ok || f.Kind != flow.TroubleKind || t.c.Service.Caller != nil {
		return false
	}
	t.dropTimers()
	t.c.Service, t.c.Asked = nil, Asked{}
	return true
}

// faultSign finds the faults that have no intent of their own: a noise of the pump, the
// cover. A drain's or filter's cover is another thing, and may be a danger.
func faultSign(text string) string {
	words := strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return !isLetter(r) })
	has := func(stems ...string) bool {
		return slices.ContainsFunc(words, func(word string) bool {
			return slices.ContainsFunc(stems, func(stem string) bool { return strings.HasPrefix(word, stem) })
		})
	}
	switch {
	case has("pump", "motor", "bomba") && has("nois", "loud", "hum", "grind", "screech", "squeal", "whin", "rattl", "gurgl", "ruido", "zumb", "rechin", "rasp", "traquet", "gorgot"):
		return "noise"
	case has("drain", "suction", "skimmer", "filter", "desag", "rejilla", "coladera", "filtro", "succi"):
	case has("cover", "lid", "tapa") && has("broke", "break", "crack", "torn", "tear", "rip", "heavy", "waterlog", "strap", "lock", "latch", "clip", "buckle", "blew", "blow", "problem",
		"rot", "romp", "rasg", "quebr", "pesa", "correa", "seguro", "broche", "vuela", "volo", "voló"):
		return "cover"
	}
	return ""
}

func isLetter(r rune) bool { return r >= 'a' && r <= 'z' || r > 0x7f }

// mostTold bounds what is kept of a trouble's answers.
const mostTold = 12

// Told is one thing that an owner answered in a trouble: where it was asked and what
// they said, in plain words for staff.
type Told struct {
	Asked  string `json:"asked"` // the state that asked; "" for what they first wrote
	Answer string `json:"answer"`
}

// tellFirst keeps how an owner told a trouble.
func (t *turn) tellFirst() {
	t.c.Service.Told = []Told{{Answer: shorten(t.ev.Text, 120)}}
}

// tellTrouble keeps an answer that was given in a trouble, for whoever takes the case.
// The same question answered again takes the place of the first answer.
func (t *turn) tellTrouble(s *flow.State, m understand.Meaning) {
	service := t.c.Service
	if t.ev.Kind != TextIn || !strings.HasPrefix(service.Flow, troublePrefix) {
		return
	}
	told := Told{Asked: s.Name, Answer: answerPlain(m, t.ev.Text)}
	at := slices.IndexFunc(service.Told, func(before Told) bool { return before.Asked == told.Asked })
	switch {
	case at >= 0:
		service.Told[at] = told
	case len(service.Told) < mostTold:
		service.Told = append(service.Told, told)
	}
}

// answerPlain is an answer as staff read it: a choice by its name, yes and no, else the
// owner's words.
func answerPlain(m understand.Meaning, text string) string {
	switch {
	case m.Choice != "":
		return spaced(m.Choice)
	case m.Intent == understand.Yes || m.Intent == understand.No || m.Intent == understand.Done:
		return string(m.Intent)
	}
	return `"` + shorten(text, 90) + `"`
}

// toldFacts says what the owner answered in the trouble under way.
func (t *turn) toldFacts() []string {
	if t.c.Service == nil || len(t.c.Service.Told) == 0 {
		return nil
	}
	var parts []string
	for _, told := range t.c.Service.Told {
		if told.Asked == "" {
			parts = append(parts, `first "`+told.Answer+`"`)
			continue
		}
		parts = append(parts, spaced(told.Asked)+": "+told.Answer)
	}
	return []string{"What they told: " + strings.Join(parts, "; ")}
}

// usualTub is what a trouble that nobody called takes the tub for, where it does not
// say itself: in use.
func usualTub() flow.Tub {
	return flow.Tub{Power: "on", Water: "full", Filters: "in", Product: "out"}
}
