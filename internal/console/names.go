package console

import (
	"strconv"
	"strings"

	"tubhand/internal/safety"
	"tubhand/internal/understand"
)

// plain words a name of ours as people write it: "asked_for_person" is "Asked for person".
func plain(name string) string {
	words := strings.TrimSpace(strings.ReplaceAll(name, "_", " "))
	if words == "" {
		return ""
	}
	return strings.ToUpper(words[:1]) + words[1:]
}

// severityWords is how a severity is written on the board.
func severityWords(severity string) string {
	switch safety.Severity(severity) {
	case safety.Emergency:
		return "Emergency"
	case safety.PersonSoon:
		return "Person soon"
	case safety.Technician:
		return "Technician"
	}
	return plain(severity)
}

// stepWords names where an owner is, from a flow's step.
func stepWords(step string) string {
	switch step {
	case "begin":
		return "Getting ready"
	case "add_product":
		return "Adding product"
	case "soak":
		return "Soaking"
	case "wipe":
		return "Wiping"
	case "drain":
		return "Draining"
	case "blow_out":
		return "Blowing out the lines"
	case "rinse":
		return "Rinsing"
	case "refill":
		return "Refilling"
	case "heat":
		return "Heating up"
	case "retest":
		return "Testing"
	}
	return plain(step)
}

// quantityWords names a reading and its unit.
func quantityWords(q understand.Quantity) (name, unit string) {
	switch q {
	case understand.PH:
		return "pH", ""
	case understand.WaterTemp:
		return "Water", "F"
	case understand.TDS:
		return "Dissolved solids", "ppm"
	}
	base, found := strings.CutSuffix(string(q), "_ppm")
	unit = "ppm"
	if !found {
		if base, found = strings.CutSuffix(string(q), "_ppb"); found {
			unit = "ppb"
		} else {
			unit = ""
		}
	}
	return plain(base), unit
}

// valueWords writes a reading: "7.4", "3 to 5", "over 10".
func valueWords(v understand.Value) string {
	switch {
	case v.Unknown:
		return "could not be read"
	case v.OpenHigh:
		return "over " + number(v.Low)
	case v.OpenLow:
		return "under " + number(v.High)
	case v.Low != v.High:
		return number(v.Low) + " to " + number(v.High)
	}
	return number(v.Low)
}

// number writes at most two decimals and no idle zeros.
func number(x float64) string {
	text := strconv.FormatFloat(x, 'f', 2, 64)
	return strings.TrimSuffix(strings.TrimRight(text, "0"), ".")
}

// reminderWords tells what happens when a reminder is due: names are
// "timer:flush_plumbing/soak/soak_over", "silence", "page:...".
func reminderWords(name string) string {
	kind, detail, _ := strings.Cut(name, ":")
	switch kind {
	case "timer":
		return plain(detail[strings.LastIndexByte(detail, '/')+1:])
	case "silence":
		return "Look in again"
	case "page":
		return "Call the next person"
	}
	return plain(strings.ReplaceAll(name, ":", " "))
}

// deliveryWords tells how far a message got.
func deliveryWords(state string) string {
	switch state {
	case "queued":
		return "waiting to go out"
	case "failed":
		return "not delivered"
	case "dropped":
		return "not sent: opted out"
	}
	return state
}

// languageWords names a language.
func languageWords(code string) string {
	switch code {
	case "en":
		return "English"
	case "es":
		return "Spanish"
	}
	return code
}
