// Package conversation holds the domain: what is known about an owner, a tub and the
// service under way, and Decide, which turns one event into the next state and the
// effects to commit with it. It is pure: no I/O, no clock, no randomness. The same
// state, event and time always give the same result, so that every conversation can be
// replayed, rehearsed and explored without a server.
package conversation

import (
	"time"

	"tubhand/internal/understand"
	"tubhand/internal/water"
)

// Conversation is everything that a turn needs to know and may change. It is stored
// as one record; Version counts its commits and guards against two turns at once.
type Conversation struct {
	Shop     string     `json:"shop"`
	ID       string     `json:"id"`      // the address it began with; never changes
	Version  int64      `json:"version"` // 0: not stored yet
	Owner    Owner      `json:"owner"`
	Tub      Tub        `json:"tub"`
	Service  *Service   `json:"service,omitempty"`
	Asked    Asked      `json:"asked"`
	Open     []Handover `json:"open,omitempty"` // handovers that nobody has closed
	Hold     *Hold      `json:"hold,omitempty"`
	Pages    []Paged    `json:"pages,omitempty"` // calls for staff that nobody has answered
	OptedOut bool       `json:"opted_out,omitempty"`
	LastIn   time.Time  `json:"last_in,omitzero"`
	LastOut  time.Time  `json:"last_out,omitzero"`
	Misses   int        `json:"misses,omitempty"`  // texts in a row that were not understood
	Unclear  int        `json:"unclear,omitempty"` // answers in a row that could not be used as they were
	Doubts   int        `json:"doubts,omitempty"`  // tests in a row that can't be true
	Made     int64      `json:"made,omitempty"`    // ids given out so far
	Danger   *Danger    `json:"danger,omitempty"`  // the last hazard heard

	Thread     *Letter     `json:"thread,omitempty"`      // the owner's last e-mail, to answer in its thread
	AskedProof time.Time   `json:"asked_proof,omitzero"`  // when the writer of unproven mail was last asked to prove who they are
	Link       *Link       `json:"link,omitempty"`        // a second address whose code has not come back yet
	LinksAsked []time.Time `json:"links_asked,omitempty"` // codes sent lately
	Consent    Consent     `json:"consent,omitzero"`
	Calendar   Calendar    `json:"calendar,omitzero"`
}

// Owner is a person reachable at one or more addresses.
type Owner struct {
	Name      string   `json:"name,omitempty"`
	Addresses []string `json:"addresses"` // E.164 numbers and e-mail addresses; answered is the first, where they last wrote from
	Language  string   `json:"language,omitempty"`
	TimeZone  string   `json:"time_zone,omitempty"` // IANA name
	Region    string   `json:"region,omitempty"`    // ISO 3166 country of the number
	Metric    bool     `json:"metric,omitempty"`    // speaks in litres and Celsius
}

// Tub is one tub and what has been measured and added.
type Tub struct {
	VolumeUSGal  float64                          `json:"volume_us_gal,omitempty"` // 0: not known, and nothing is dosed
	VolumeBy     string                           `json:"volume_by,omitempty"`     // "owner", "dimensions", "staff"
	Sanitizer    string                           `json:"sanitizer,omitempty"`     // chlorine, bromine or ""
	HeaterKW     float64                          `json:"heater_kw,omitempty"`
	HoseGPM      float64                          `json:"hose_gpm,omitempty"`
	PumpGPH      float64                          `json:"pump_gph,omitempty"`
	Readings     map[understand.Quantity]Measured `json:"readings,omitempty"`
	LastAddition time.Time                        `json:"last_addition,omitzero"`
	LastFlush    time.Time                        `json:"last_flush,omitzero"`
	JarSpoons    map[string]float64               `json:"jar_spoons,omitempty"`    // level teaspoons left, by product
	Aimed        map[understand.Quantity]float64  `json:"aimed,omitempty"`         // what a dose since the last test was to raise: the level before
	Tried        map[understand.Quantity]int      `json:"tried,omitempty"`         // doses in a row that did not help
	Past         []Past                           `json:"past,omitempty"`          // readings and additions for the forecast, oldest first
	Changed      time.Time                        `json:"changed,omitzero"`        // when the water was last seen being changed
	ToldCyanuric bool                             `json:"told_cyanuric,omitempty"` // that it is advised against in tubs
	Cloudy       time.Time                        `json:"cloudy,omitzero"`         // when it was last seen cloudy, and not clear or tested since
	Bathers      float64                          `json:"bathers,omitempty"`       // a day; 0: not known
	Done         map[Chore]time.Time              `json:"done,omitempty"`          // when a service did a job that comes round
	Wear         Wear                             `json:"wear,omitzero"`           // what doses brought along since the water was changed
	Ill          time.Time                        `json:"ill,omitzero"`            // when somebody who had soaked was told to be ill, and no person has settled it
}

// Measured is a reading and when it was told.
type Measured struct {
	Value understand.Value `json:"value"`
	At    time.Time        `json:"at"`
}

// Service is one run of a flow on the tub.
type Service struct {
	ID      string               `json:"id"`
	Flow    string               `json:"flow"`
	State   string               `json:"state"`
	Started time.Time            `json:"started"`
	Since   time.Time            `json:"since"` // entered the state
	Facts   map[string]string    `json:"facts,omitempty"`
	Stamps  map[string]time.Time `json:"stamps,omitempty"`
	Advised map[string]Dose      `json:"advised,omitempty"` // by dose name, until added
	Added   map[string]Dose      `json:"added,omitempty"`   // the last one that went in
	Timers  map[string]Pending   `json:"timers,omitempty"`  // set and not yet fired, by timer name
	Nudged  int                  `json:"nudged,omitempty"`  // nudges since the owner's last word
	Quiet   time.Time            `json:"quiet,omitzero"`    // since when the owner has been silent
	Rounds  int                  `json:"rounds,omitempty"`  // additions made to balance the water
	Nudges  int                  `json:"nudges,omitempty"`  // nudges in all
	Night   string               `json:"night,omitempty"`   // what the owner was told of a wait that ends in their quiet hours
	Paused  bool                 `json:"paused,omitempty"`
	Void    bool                 `json:"void,omitempty"`   // the step's dose was taken back while a person had the conversation
	Caller  *Caller              `json:"caller,omitempty"` // where a trouble flow returns to
	Told    []Told               `json:"told,omitempty"`   // what was answered in the trouble under way, in order

	Kept map[understand.Quantity]Measured `json:"kept,omitempty"` // the fresh readings at the last stamp, to hold later ones against
}

// Caller is the service that a trouble flow interrupted.
type Caller struct {
	Flow  string    `json:"flow"`
	State string    `json:"state"`
	Since time.Time `json:"since"`
	Case  string    `json:"case,omitempty"` // the case that the trouble opened: the service waits for it
}

// Pending is a reminder that has been set.
type Pending struct {
	ID  string    `json:"id"`
	Due time.Time `json:"due"`
}

// Asked is what the last message asked, and so how the next text is read.
type Asked struct {
	Kind     understand.Asked      `json:"kind,omitempty"`
	Readings []understand.Quantity `json:"readings,omitempty"`
	Choices  []string              `json:"choices,omitempty"`
	Proposed map[string]float64    `json:"proposed,omitempty"` // a value to be confirmed
	Was      understand.Asked      `json:"was,omitempty"`      // what was asked before the confirmation
}

// Dose is an advised or confirmed addition.
type Dose struct {
	Name     string     `json:"name"`     // flush_product, start_up_sanitizer, ...
	Product  string     `json:"product"`  // the shop's name for it
	Chemical string     `json:"chemical"` // as in package water; "" for the flush product
	Grams    float64    `json:"grams,omitempty"`
	Spoons   float64    `json:"spoons,omitempty"` // level teaspoons, in quarters
	Amount   float64    `json:"amount,omitempty"`
	Unit     water.Unit `json:"unit,omitempty"` // or "label" or "unknown"
	Measure  string     `json:"measure"`        // amount and unit in English, for staff
	USGal    float64    `json:"us_gal"`         // the volume it was worked out for
	Aim      string     `json:"aim,omitempty"`  // the quantity it is to move
	Why      string     `json:"why,omitempty"`  // the reason's name, as in package water
	From     float64    `json:"from,omitempty"` // the level it was worked out from, where the reason tells it
	At       time.Time  `json:"at"`
}

// Hold keeps the assistant quiet: a handover that stops the service, or a person who
// has taken the conversation. Hazards and opt-outs are still seen.
type Hold struct {
	Handover string    `json:"handover,omitempty"`
	By       string    `json:"by,omitempty"` // staff key, once someone has taken it
	Since    time.Time `json:"since"`
	Told     bool      `json:"told,omitempty"`  // the owner has been told that a person will write
	Quiet    bool      `json:"quiet,omitempty"` // it began with an owner who did not answer
}

// Paged is the calling for one handover that nobody has taken yet.
type Paged struct {
	Handover string   `json:"handover"`
	Called   []string `json:"called,omitempty"` // staff keys, in order
	All      bool     `json:"all,omitempty"`    // everyone has been called
	Next     Pending  `json:"next"`
}

// Danger remembers the last hazard, so that the same one heard again is answered with
// the safety line alone.
type Danger struct {
	Hazard   string    `json:"hazard"`
	Severity string    `json:"severity"`
	At       time.Time `json:"at"`
}

// Handover is a case for a person.
type Handover struct {
	ID           string    `json:"id"`
	Shop         string    `json:"shop"`
	Conversation string    `json:"conversation"`
	Code         string    `json:"code"`     // what staff reply to take it
	Cause        string    `json:"cause"`    // a hazard, a trouble, "asked_for_person", "went_quiet", ...
	Severity     string    `json:"severity"` // technician, person_soon, emergency
	Facts        string    `json:"facts"`    // what a person needs to know at a glance
	Opened       time.Time `json:"opened"`
	Claimed      time.Time `json:"claimed,omitzero"`
	By           string    `json:"by,omitempty"` // staff key
	Closed       time.Time `json:"closed,omitzero"`
	Outcome      string    `json:"outcome,omitempty"`
	Notes        []Remark  `json:"notes,omitempty"` // what staff wrote down about it, oldest first
}

// Remark is what a member of staff wrote down about a case, for other staff.
type Remark struct {
	At   time.Time `json:"at"`
	By   string    `json:"by"` // staff key
	Text string    `json:"text"`
}
