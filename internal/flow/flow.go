// Package flow loads, checks, draws and steps the state machines in flows/. A flow is
// one kind of service. State, transition, event, guard and timer mean what the W3C
// SCXML recommendation means by them. The package is pure: it decides where a flow
// goes, never what happens outside.
package flow

import "time"

// Flow is one flow file.
type Flow struct {
	Name    string              `yaml:"flow"`
	Title   string              `yaml:"title"`
	Kind    Kind                `yaml:"kind"`
	Start   string              `yaml:"start"`
	Parts   []string            `yaml:"parts"`   // stretches shared with other flows: files in flows/parts
	Facts   map[string][]string `yaml:"facts"`   // what the owner is asked: name -> the values it can have
	Silence *Silence            `yaml:"silence"` // for states that give none
	Always  []Transition        `yaml:"always"`  // valid in every state, tried after the state's own
	States  []*State            `yaml:"states"`

	byName map[string]*State
	file   string // where it was read from, for problems
	at     *place // where its parts stand in the file
}

// Kind tells a service from a trouble: a trouble runs inside a service (or alone) and
// returns to where it was called.
type Kind string

// The kinds of flow.
const (
	ServiceKind Kind = "service"
	TroubleKind Kind = "trouble"
)

// State is one place in a flow.
type State struct {
	Name     string       `yaml:"state"`
	Say      string       `yaml:"say"`      // wording key; default: the state's name; "none": says nothing
	Step     string       `yaml:"step"`     // where the owner is, for understanding: soak, wipe, ...
	Caution  string       `yaml:"caution"`  // wording key under cautions, said before Say
	Ask      Ask          `yaml:"ask"`      // what it waits for
	Skip     []Transition `yaml:"skip"`     // tried on entry, before anything is said; no `when`
	Dose     string       `yaml:"dose"`     // what is advised on entry: flush_product, start_up_sanitizer, balance, neutralizer
	On       []Transition `yaml:"on"`       // tried in order
	Timers   []Timer      `yaml:"timers"`   // set on entry, cancelled on leaving
	Silence  *Silence     `yaml:"silence"`  // what happens when the owner says nothing
	Back     string       `yaml:"back"`     // where "go back" leads; empty: it can't be undone
	Tub      Tub          `yaml:"tub"`      // the tub's physical state while in it
	Brief    bool         `yaml:"brief"`    // the seconds-long blow-out: power on over low water is meant
	Clarity  bool         `yaml:"clarity"`  // asks whether the water is clear: yes is clear, no is cloudy
	Soakable bool         `yaml:"soakable"` // tells the owner that they can soak
	End      bool         `yaml:"end"`      // the flow is over; a trouble returns
	Return   string       `yaml:"return"`   // a trouble's end: the caller's state to go on from; empty: where it was
}

// Ask is what a state waits for. Exactly one field is set; the zero value waits for
// nothing but timers and the owner's own words.
type Ask struct {
	Done     bool     `yaml:"done"`
	YesNo    bool     `yaml:"yes_no"`
	Volume   bool     `yaml:"volume"`
	Time     bool     `yaml:"time"`
	Readings []string `yaml:"readings"` // quantities, in the order asked; a name ending in "?" may be left out
	Choice   []string `yaml:"choice"`   // option names, in the order offered
}

// Transition is a way out of a state, or a remark within it when To is empty.
type Transition struct {
	When     string            `yaml:"when"`      // a signal: an intent, "readings", "volume", "volume_changed", a choice's name
	If       *Guard            `yaml:"if"`        // nil: always
	Set      map[string]string `yaml:"set"`       // facts learned
	Stamp    string            `yaml:"stamp"`     // names this moment, for timers
	Added    string            `yaml:"added"`     // the owner says that this dose went in
	Say      string            `yaml:"say"`       // wording key, said before the next state's text
	HandOver *HandOver         `yaml:"hand_over"` // brings in a person
	Call     string            `yaml:"call"`      // runs a trouble flow, then returns here
	To       string            `yaml:"to"`        // the next state; empty: stay
}

// HandOver says why a person is needed and whether the service waits for them.
type HandOver struct {
	Cause    string `yaml:"cause"`
	Severity string `yaml:"severity"` // technician, person_soon
	Hold     bool   `yaml:"hold"`
}

// Timer turns time into a transition. After is a Go duration or the name of a worked-out
// time (see ComputedTimes); From is a
// stamp's name, or empty for the entry into the state. Its transition has no When.
type Timer struct {
	Name       string `yaml:"timer"`
	After      string `yaml:"after"`
	From       string `yaml:"from"`
	Transition `yaml:",inline"`
}

// Silence is what happens when an owner says nothing: nudges at these times since the
// last message or timer, then a person.
type Silence struct {
	Nudge    []Duration `yaml:"nudge"`
	Person   Duration   `yaml:"person"`
	Cause    string     `yaml:"cause"`
	Severity string     `yaml:"severity"`
}

// Duration is a time.Duration written "30m" or "2h".
type Duration time.Duration

// Tub is the tub's physical state. In a trouble flow "same" means: as in the state
// that called it.
type Tub struct {
	Power   string `yaml:"power"`   // on, off, same
	Water   string `yaml:"water"`   // full, falling, below_jets, empty, rising, same
	Filters string `yaml:"filters"` // in, in_water, out, same
	Product string `yaml:"product"` // in, out, same: flush product in the water
}
