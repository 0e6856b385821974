package console

import (
	"tubhand/internal/conversation"
	"tubhand/internal/flow"
	"tubhand/internal/understand"
)

// place is where a service stands, and what state the tub is in there.
type place struct {
	Flow   string // "Plumbing flush"
	Step   string // "Soaking"
	State  string // the state's name, in words, when it says more than the step
	During string // in a trouble: the service that it interrupted
	Since  moment
	For    string // how long it has been there
	Waits  string // what it waits for
	Paused bool
	Tub    vessel
}

// vessel is a tub's physical state, as words and as a small drawing.
type vessel struct {
	Known   bool
	Power   string // on, off
	Water   string // full, falling, below_jets, empty, rising
	Filters string // in, in_water, out
	Product bool   // flush product in the water
	Top     int    // of the drawn water; the drawing's floor is at 22, the jets are at 13
	Depth   int
	Unsafe  bool // power on over low water
	Words   []mark
}

// floor is where the drawn tub ends.
const floor = 22

// mark is a short remark with a tone: "plain", "care" or "alarm".
type mark struct{ Text, Tone string }

// placeOf tells where the conversation's service stands; ok is false when none runs.
func (c *Console) placeOf(conv *conversation.Conversation) (p place, ok bool) {
	s := conv.Service
	if s == nil {
		return place{}, false
	}
	p = place{
		Flow: plain(s.Flow), Step: plain(s.State), Since: c.moment(s.Since), Paused: s.Paused,
		For: span(c.Clock.Now().Sub(s.Since)), Waits: waits(conv),
	}
	if s.Caller != nil {
		p.During = plain(s.Caller.Flow)
		if f, known := c.Flows.Flow(s.Caller.Flow); known {
			p.During = f.Title
		}
	}
	f, known := c.Flows.Flow(s.Flow)
	if !known {
		return p, true
	}
	p.Flow = f.Title
	state, known := f.State(s.State)
	if !known {
		return p, true
	}
	if state.Step != "" {
		p.Step = stepWords(state.Step)
		if name := plain(state.Name); name != plain(state.Step) {
			p.State = name
		}
	}
	p.Tub = newVessel(c.tubIn(state.Tub, s.Caller))
	return p, true
}

// tubIn resolves what a trouble flow leaves as it was in the state that called it.
func (c *Console) tubIn(t flow.Tub, caller *conversation.Caller) flow.Tub {
	if caller == nil {
		return t
	}
	f, ok := c.Flows.Flow(caller.Flow)
	if !ok {
		return t
	}
	before, ok := f.State(caller.State)
	if !ok {
		return t
	}
	same := func(now, was string) string {
		if now == "same" {
			return was
		}
		return now
	}
	return flow.Tub{
		Power: same(t.Power, before.Tub.Power), Water: same(t.Water, before.Tub.Water),
		Filters: same(t.Filters, before.Tub.Filters), Product: same(t.Product, before.Tub.Product),
	}
}

func newVessel(t flow.Tub) vessel {
	v := vessel{
		Known: t.Power != "" && t.Power != "same" && t.Water != "same",
		Power: t.Power, Water: t.Water, Filters: t.Filters, Product: t.Product == "in",
	}
	if !v.Known {
		return vessel{}
	}
	low := t.Water == "below_jets" || t.Water == "empty"
	v.Unsafe = t.Power == "on" && low
	words, top := waterWords(t.Water)
	v.Top, v.Depth = top, floor-top
	power := mark{"Power " + t.Power, "plain"}
	if v.Unsafe {
		power = mark{"Power on over low water", "alarm"}
	}
	v.Words = append(v.Words, power, mark{words, tone(t.Water != "full")})
	if v.Product {
		v.Words = append(v.Words, mark{"Product in", "care"})
	}
	if t.Filters != "in" && t.Filters != "same" {
		v.Words = append(v.Words, mark{"Filters out", "plain"})
	}
	return v
}

func tone(care bool) string {
	if care {
		return "care"
	}
	return "plain"
}

// waterWords words a water level and gives the top of the drawn water.
func waterWords(water string) (words string, top int) {
	switch water {
	case "falling":
		return "Water going down", 10
	case "below_jets":
		return "Water below the jets", 16
	case "empty":
		return "Empty", floor
	case "rising":
		return "Filling", 13
	}
	return "Full", 6
}

// waits tells what the assistant waits for, in a few words.
func waits(conv *conversation.Conversation) string {
	if conv.Hold != nil {
		return "a person"
	}
	switch conv.Asked.Kind {
	case understand.AskedDone:
		return "the owner's DONE"
	case understand.AskedYesNo, understand.AskedConfirm:
		return "a yes or no"
	case understand.AskedVolume:
		return "the tub's volume"
	case understand.AskedReadings:
		return "a test strip"
	case understand.AskedChoice:
		return "a choice"
	case understand.AskedTime:
		return "a time"
	case understand.AskedLanguage:
		return "a language"
	}
	return "the time to pass"
}
