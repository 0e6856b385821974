package flow

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Signals lists what a transition's `when` can name besides the choices of its state:
// the intents of package understand, and what the turn code raises itself. "readings"
// means that values came in, "volume" that a volume was told, "volume_changed" that it
// differs from the one known, "unknown" that the owner can't get what was asked for.
// The list is sorted.
func Signals() []string {
	signals := []string{
		"readings", "volume", "volume_changed", "unknown",
		"answer", "done", "yes", "no", "not_yet", "more_time", "start_service", "question_dose", "question_why",
		"question_when", "how_long_left", "stop_messages", "resume_messages", "help", "talk_to_human", "cancel_service",
		"undo", "cannot_find_part", "foam_too_much", "residue_hard_to_wipe", "cloudy_water", "green_water", "smell",
		"scale", "low_flow", "airlock", "heater_not_heating", "error_code_shown", "gfci_trips", "leak",
		"product_ran_out", "wrong_product", "overdosed", "thanks", "wrong_number", "abuse", "schedule_later",
		"language_switch", "other",
	}
	slices.Sort(signals)
	return signals
}

// Quantities lists the readings that can be asked for and compared, as package
// understand names them; the unit is part of the name. The list is sorted. A state can
// also ask for "sanitizer": free chlorine or bromine, whichever the tub has.
func Quantities() []string {
	return []string{
		"bromine_ppm", "calcium_hardness_ppm", "combined_chlorine_ppm", "cyanuric_acid_ppm", "free_chlorine_ppm", "ph",
		"phosphate_ppb", "salt_ppm", "tds_ppm", "total_alkalinity_ppm", "total_chlorine_ppm", "water_temp_f",
	}
}

// Steps lists where an owner can be, for the understanding of what they text. The
// list is sorted.
func Steps() []string {
	return []string{
		"add_product", "begin", "blow_out", "drain", "filters", "find_part", "gloves", "heat", "jets_high", "refill",
		"retest", "rinse", "soak", "wipe",
	}
}

// Doses lists what a state can advise and an owner can say that they added. The list
// is sorted.
func Doses() []string {
	return []string{doseBalance, doseFlush, doseNeutralizer, doseSanitizer}
}

// The doses a state can advise.
const (
	doseBalance     = "balance"
	doseFlush       = "flush_product"
	doseNeutralizer = "neutralizer"
	doseSanitizer   = "start_up_sanitizer"
)

// ComputedTimes lists the times that a timer can wait for besides a fixed one: they
// are worked out from the tub. The list is sorted.
func ComputedTimes() []string {
	return []string{"drain_time", "drain_to_jets_time", "fill_time", "heat_time", "overnight", "part_drain_time", "part_fill_time"}
}

// The names that mean something to this package.
const (
	signalReadings      = "readings"
	signalVolume        = "volume"
	signalVolumeChanged = "volume_changed"

	numberVolume      = "volume_gal"
	numberTemperature = "water_temp_f"
	numberSanitizer   = "sanitizer_ppm"          // free chlorine or bromine, whichever the tub has
	numberRounds      = "rounds"                 // how often this service has tested and dosed; always known
	numberLost        = "sanitizer_lost_percent" // of what was kept with a stamp, by a new test
	askedSanitizer    = "sanitizer"

	factBand      = "band"
	factPlan      = "plan"
	factProduct   = "product"
	factFlush     = doseFlush
	factSanitizer = "sanitizer"
	factRunning   = "running" // power on, water full, filters in

	same           = "same"
	nothing        = "none" // a state's Say that says nothing
	bandUnmeasured = "unmeasured"
	bandSoak       = "soak"
	bandFix        = "fix"
	bandPerson     = "person"
)

// severities that a flow can give a handover. Emergencies are seen before any flow is
// asked, so they have no place here.
func severities() []string { return []string{"person_soon", "technician"} }

// builtInFacts are the facts that every guard can ask about: the band of the fresh
// readings and what it takes to better it, the tub's sanitizer, whether flush product
// is in the water now, what became of the flush dose in this service ("in" stays,
// also after the product has gone down the drain), and whether the tub can run: power on,
// water full, filters in.
func builtInFacts() map[string][]string {
	return map[string][]string{
		factBand:      {bandUnmeasured, bandSoak, bandFix, bandPerson},
		factPlan:      {"none", "add", "wait", "person"},
		factSanitizer: {"chlorine", "bromine"},
		factProduct:   {"in", "out"},
		factFlush:     {"no", "advised", "in"},
		factRunning:   {"yes", "no"},
	}
}

// optOutWords may never be an answer that a flow asks for: carriers and the law read
// them as "stop texting me" (47 CFR 64.1200(a)(10)).
func optOutWords() []string {
	return []string{"stop", "quit", "end", "revoke", "opt_out", "cancel", "unsubscribe"}
}

// longestName keeps names printable and drawable.
const longestName = 48

// isName tells whether a text can name a state, fact, timer or wording: small ASCII
// letters, digits and underscores, beginning with a letter.
func isName(text string) bool {
	if text == "" || len(text) > longestName || text[0] < 'a' || text[0] > 'z' {
		return false
	}
	return strings.Trim(text, "abcdefghijklmnopqrstuvwxyz0123456789_") == ""
}

// longestTitle keeps titles on one line of a page.
const longestTitle = 80

// isTitle tells whether a text can be a flow's title: one line of printable text.
func isTitle(text string) bool {
	if text == "" || len(text) > longestTitle || !utf8.ValidString(text) || strings.TrimSpace(text) != text {
		return false
	}
	return !strings.ContainsFunc(text, func(r rune) bool { return !unicode.IsPrint(r) })
}

// isWording tells whether a text can name a wording: names joined by dots.
func isWording(text string) bool {
	for part := range strings.SplitSeq(text, ".") {
		if !isName(part) {
			return false
		}
	}
	return true
}

// oneOf writes a list for a problem: "a, b or c".
func oneOf(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " or " + names[last]
}
