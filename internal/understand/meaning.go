// Package understand turns what an owner texts into meaning: hazards first, then
// opt-out, then what was asked, then free intents. It is pure: the same text in the
// same context always means the same. It never invents a value; where a careful
// person would ask back it says so in Clarify.
package understand

import "tubhand/internal/safety"

// Asked is the kind of answer the assistant is waiting for.
type Asked string

// The kinds of question.
const (
	AskedReadings Asked = "readings"
	AskedVolume   Asked = "volume"
	AskedDone     Asked = "done"
	AskedYesNo    Asked = "yes_no"
	AskedConfirm  Asked = "confirm"
	AskedChoice   Asked = "choice"
	AskedTime     Asked = "time"
	AskedLanguage Asked = "language"
	AskedNothing  Asked = "nothing"
)

// Context is what the conversation knows when a text comes in. The zero value means
// that nothing is known.
type Context struct {
	Language      string             // "en", "es", or "" when not known
	Asked         Asked              // what the last message asked for
	AskedReadings []Quantity         // in the order asked, with AskedReadings
	Proposed      map[string]float64 // what AskedConfirm asked about: a Quantity, or "us_gal"
	Choices       []Choice           // in the order offered, with AskedChoice
	Step          string             // where the owner is: "soak", "wipe", ...
}

// Choice is one option offered with AskedChoice: its name and the words an owner may
// use for it besides its number and its name.
type Choice struct {
	Name  string
	Words []string
}

// Quantity names a reading; the unit is part of the name.
type Quantity string

// The quantities an owner can report.
const (
	FreeChlorine     Quantity = "free_chlorine_ppm"
	TotalChlorine    Quantity = "total_chlorine_ppm"
	CombinedChlorine Quantity = "combined_chlorine_ppm"
	Bromine          Quantity = "bromine_ppm"
	PH               Quantity = "ph"
	TotalAlkalinity  Quantity = "total_alkalinity_ppm"
	CalciumHardness  Quantity = "calcium_hardness_ppm"
	CyanuricAcid     Quantity = "cyanuric_acid_ppm"
	TDS              Quantity = "tds_ppm"
	Phosphate        Quantity = "phosphate_ppb"
	Salt             Quantity = "salt_ppm"
	WaterTemp        Quantity = "water_temp_f"
)

// Value is what was read: a number (Low == High), a range, a range with an open end
// ("over 10"), or Unknown when the owner says it could not be read. It marshals to the
// JSON of `tubhand understand`: 7.2, [7.2,7.8], [10,null] or "unknown".
type Value struct {
	Low, High         float64
	OpenLow, OpenHigh bool
	Unknown           bool
}

// Readings holds the values found in one text.
type Readings map[Quantity]Value

// Volume is a tub's volume as told: a number or range of US gallons, a range with an
// open end ("over 300": LowUSGal and HighUSGal are both 300 with OpenHigh; "under 300":
// LowUSGal is 0 with OpenLow), dimensions with the space within them, which is more than
// the water in it and to be confirmed before dosing (Meaning.Proposal says how much water
// is likely), or Unknown.
type Volume struct {
	LowUSGal, HighUSGal float64
	OpenLow, OpenHigh   bool
	Dimensions          *Dimensions
	Unknown             bool
}

// Dimensions are lengths in metres. Shape is "rectangle", "round" or "oval"; Length is
// the diameter of a round tub. Inside says that the owner measured the water itself.
type Dimensions struct {
	Shape                string
	Length, Width, Depth float64
	Inside               bool
}

// Intent is what the owner wants, as `tubhand understand` names it.
type Intent string

// The intents.
const (
	Answer            Intent = "answer"
	Done              Intent = "done"
	Yes               Intent = "yes"
	No                Intent = "no"
	NotYet            Intent = "not_yet"
	MoreTime          Intent = "more_time"
	StartService      Intent = "start_service"
	QuestionDose      Intent = "question_dose"
	QuestionWhy       Intent = "question_why"
	QuestionWhen      Intent = "question_when"
	HowLongLeft       Intent = "how_long_left"
	StopMessages      Intent = "stop_messages"
	ResumeMessages    Intent = "resume_messages"
	Help              Intent = "help"
	TalkToHuman       Intent = "talk_to_human"
	CancelService     Intent = "cancel_service"
	Undo              Intent = "undo"
	CannotFindPart    Intent = "cannot_find_part"
	FoamTooMuch       Intent = "foam_too_much"
	ResidueHardToWipe Intent = "residue_hard_to_wipe"
	CloudyWater       Intent = "cloudy_water"
	GreenWater        Intent = "green_water"
	Smell             Intent = "smell"
	Scale             Intent = "scale"
	LowFlow           Intent = "low_flow"
	Airlock           Intent = "airlock"
	HeaterNotHeating  Intent = "heater_not_heating"
	ErrorCodeShown    Intent = "error_code_shown"
	GFCITrips         Intent = "gfci_trips"
	Leak              Intent = "leak"
	ProductRanOut     Intent = "product_ran_out"
	WrongProduct      Intent = "wrong_product"
	Overdosed         Intent = "overdosed"
	Thanks            Intent = "thanks"
	WrongNumber       Intent = "wrong_number"
	Abuse             Intent = "abuse"
	ScheduleLater     Intent = "schedule_later"
	LanguageSwitch    Intent = "language_switch"
	Other             Intent = "other"
)

// Meaning is what one text means.
type Meaning struct {
	Language   string // "en" or "es", as detected
	Intent     Intent
	Service    string // with StartService: flush_plumbing, drain, refill, ...
	Choice     string // with AskedChoice: the name of the option picked, or ""
	Readings   Readings
	Volume     *Volume
	When       string // a time the owner named, in their words
	ErrorCode  string // what the panel shows
	Hazard     safety.Hazard
	Severity   safety.Severity
	Clarify    bool
	ClarifyWhy string
	dropped    sign               // why numbers were not taken, for askInVain
	Proposal   map[string]float64 // what to ask about when Clarify: "Did you mean 7.4?"
}
