package conversation

import "time"

// Kind is the kind of an event.
type Kind string

// The events that a turn handles.
const (
	TextIn       Kind = "text_in"       // an owner's words
	ReminderDue  Kind = "reminder_due"  // a durable timer has run out
	StaffAct     Kind = "staff_act"     // someone at the shop did something
	DeliveryDead Kind = "delivery_dead" // a message could not be delivered after all retries
	ReminderDead Kind = "reminder_dead" // a reminder's turn broke off time and again; it is given up
	UnprovenIn   Kind = "unproven_in"   // mail in the owner's name that may be anyone's
)

// Event is what a turn handles. ID is its dedupe mark: an event whose id has been
// committed for this conversation is never handled again.
type Event struct {
	ID       string
	Kind     Kind
	From     string // the owner's address
	To       string // the shop's line it came in on
	Gateway  string // the channel to answer through
	Text     string // TextIn; already bounded and valid UTF-8
	Reminder Reminder
	Staff    StaffAction
	Failed   Line   // DeliveryDead: the message
	TimeZone string // what the channel knows of the owner, for a first contact
	Region   string
	Language string
	Letter   *Letter       // of an e-mail: its thread
	Remark   string        // what the channel knows of a text beside its words, for staff: who vouches for it, what was attached
	Ask      bool          // UnprovenIn: its writer may be asked to prove who they are
	Barred   string        // an address that has opted out, though no conversation of this owner's knows; set by package turn
	Other    *Conversation // the conversation that the address to be linked leads to now; set by package turn
}

// StaffAction is something that a member of staff did on the console.
type StaffAction struct {
	Act      string // one of the constants below
	By       string // staff key
	Name     string // what to call them, where the shop's file does not know the key
	Handover string
	Text     string // reply and note; or the outcome on close and hand_back
	State    string // hand_back: the state to go on from; "" where it was
	Flow     string // start

	Readings Readings  // correct: what the test really showed
	At       time.Time // correct: when the owner sent it; move_timer: the new time
	Fact     string    // set_fact: FactVolume and so on
	Value    string    // set_fact: the value; speak: the language
	Reason   string    // correct, pause: optional; set_fact: why
	Reminder string    // move_timer, drop_timer, fire_timer: its id
	Owner    Enrolment // enrol: who
}

// The staff actions.
const (
	Claim    = "claim"
	Reply    = "reply"
	HandBack = "hand_back"
	CloseIt  = "close"
	StartIt  = "start"
	NoteIt   = "note"

	Correct   = "correct"    // what a test really showed
	SetFact   = "set_fact"   // a fact of the tub
	MoveTimer = "move_timer" // to another time
	DropTimer = "drop_timer" // take it away
	FireTimer = "fire_timer" // have it at once
	Pause     = "pause"      // take the conversation without a case
	Speak     = "speak"      // the owner's language
	Enrol     = "enrol"      // an owner whom staff add
)

// Effects are what a turn wants done. They are committed with the new state, all or
// nothing; only dispatch acts on them.
type Effects struct {
	Lines      []Line     // the transcript, in order; those with Send go to the outbox too
	Remind     []Reminder // durable timers to set
	Cancel     []string   // ids of reminders to drop
	Handovers  []Handover // opened or changed: the whole record each time
	Log        []LogEntry // the tub's log
	Tally      []Tally    // counted for reports, all of one day
	DropUnsent bool       // after an opt-out: what has not gone out to the owner yet must not
}

// Direction says who speaks in a line.
type Direction string

// The directions.
const (
	In    Direction = "in"    // the owner
	Out   Direction = "out"   // the assistant
	Staff Direction = "staff" // a person of the shop
	Note  Direction = "note"  // for staff eyes only: what happened
	Page  Direction = "page"  // calls a member of staff; By is whom
)

// Line is one line of the transcript. ID is unique in its shop and, for a line that is
// sent, the idempotency key.
type Line struct {
	ID           string    `json:"id"`
	Conversation string    `json:"conversation"`
	At           time.Time `json:"at"`
	Direction    Direction `json:"direction"`
	By           string    `json:"by,omitempty"` // staff key
	Text         string    `json:"text"`
	Understood   string    `json:"understood,omitempty"` // In: what was understood, in short
	Send         bool      `json:"send,omitempty"`
	Gateway      string    `json:"gateway,omitempty"`
	From         string    `json:"from,omitempty"`
	To           string    `json:"to,omitempty"`
	Class        Class     `json:"class,omitempty"`
	Delivery     string    `json:"delivery,omitempty"` // queued, sent, delivered, failed, dropped; kept by the store
}

// Class says why a message may go out, and so what holds it back.
type Class string

// The classes of outbound messages.
const (
	ClassReply    Class = "reply"    // answers what the owner just wrote
	ClassReminder Class = "reminder" // the owner waits for it
	ClassSafety   Class = "safety"   // an emergency answer
	ClassOptOut   Class = "opt_out"  // the one confirmation
	ClassStaff    Class = "staff"    // a person's words
	ClassPage     Class = "page"     // calls a member of staff
	ClassSeasonal Class = "seasonal" // months later, by the owner's consent
)

// Reminder is a durable timer. Its ID is the dedupe mark of the event that it becomes.
type Reminder struct {
	ID           string    `json:"id"`
	Conversation string    `json:"conversation"`
	Due          time.Time `json:"due"`
	Name         string    `json:"name"`    // "timer:soak_over", "nudge:1", "silence", ...
	Service      string    `json:"service"` // the service it belongs to
	State        string    `json:"state"`   // the state it was set in
}

// LogEntry is one line of the tub's log.
type LogEntry struct {
	ID           string    `json:"id"`
	Conversation string    `json:"conversation"`
	At           time.Time `json:"at"`
	Kind         string    `json:"kind"` // reading, advised, added, volume, state; withdrawn: the reading of this time was none. Of one time the last entry counts
	Name         string    `json:"name"` // quantity, dose name, state
	Low          float64   `json:"low,omitempty"`
	High         float64   `json:"high,omitempty"`
	Dose         *Dose     `json:"dose,omitempty"`
	Text         string    `json:"text,omitempty"` // as people would say it
}
