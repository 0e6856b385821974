package console

import (
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"tubhand/internal/conversation"
	"tubhand/internal/understand"
)

// correctable are the quantities that a form offers, as the trade asks for them.
var correctable = [...]understand.Quantity{
	understand.FreeChlorine, understand.TotalChlorine, understand.Bromine, understand.PH, understand.TotalAlkalinity,
	understand.CalciumHardness, understand.CyanuricAcid, understand.WaterTemp,
}

// fieldView is a number to be typed, with what is there now.
type fieldView struct{ Name, Label, Unit, Value string }

// readBy gives the readings that were taken from each text, by its time: those are what a
// correction begins with.
func readBy(log []conversation.LogEntry) map[time.Time]map[understand.Quantity]string {
	all := map[time.Time]map[understand.Quantity]string{}
	for i := range log {
		e := &log[i]
		if e.Kind != "reading" && e.Kind != "withdrawn" {
			continue
		}
		at := e.At.UTC()
		if all[at] == nil {
			all[at] = map[understand.Quantity]string{}
		}
		if e.Kind == "withdrawn" {
			delete(all[at], understand.Quantity(e.Name))
			continue
		}
		all[at][understand.Quantity(e.Name)] = fieldValue(e.Low, e.High)
	}
	return all
}

// fieldValue writes a reading as a form takes it: "7.4", "3-5", ">10".
func fieldValue(low, high float64) string {
	switch {
	case high < low:
		return ">" + number(low)
	case high > low:
		return number(low) + "-" + number(high)
	}
	return number(low)
}

// correction lists the form's fields for a text: those of the tub's own sanitizer, and
// whatever was read.
func correction(read map[understand.Quantity]string, sanitizer string) []fieldView {
	var out []fieldView
	for _, q := range correctable {
		_, was := read[q]
		other := q == understand.Bromine && sanitizer != "bromine" || sanitizer == "bromine" && (q == understand.FreeChlorine || q == understand.TotalChlorine)
		if other && !was {
			continue
		}
		name, unit := quantityWords(q)
		out = append(out, fieldView{Name: string(q), Label: name, Unit: unit, Value: read[q]})
	}
	return out
}

// checkReadings reads what a test really showed.
func checkReadings(a *conversation.StaffAction, form url.Values) error {
	at, err := time.Parse(time.RFC3339Nano, form.Get("sent"))
	if err != nil {
		return fault("The form does not say which text it is about. Reload the page and try again.")
	}
	a.At, a.Readings = at, conversation.Readings{}
	for _, q := range correctable {
		words := strings.TrimSpace(form.Get(string(q)))
		if words == "" {
			continue
		}
		v, ok := parseReading(words)
		if name, _ := quantityWords(q); !ok || !understand.Possible(q, v) {
			return fault(name + " can't be \"" + shorten(words, 20) + "\". Write a number (7.4), a range (3-5), or over a number (>10).")
		}
		a.Readings[q] = v
	}
	if len(a.Readings) == 0 {
		return fault("Write what the test showed, at least one value.")
	}
	return checkLength(a.Reason, mostOutcome)
}

// parseReading reads "7.4", "3-5" and ">10".
func parseReading(words string) (v understand.Value, ok bool) {
	words = strings.ReplaceAll(strings.ReplaceAll(words, " ", ""), ",", ".")
	if over, found := strings.CutPrefix(words, ">"); found {
		x, ok := plainNumber(over)
		return understand.Value{Low: x, High: x, OpenHigh: true}, ok
	}
	low, high, ranged := strings.Cut(words, "-")
	x, ok := plainNumber(low)
	if !ranged {
		return understand.Value{Low: x, High: x}, ok
	}
	y, also := plainNumber(high)
	return understand.Value{Low: x, High: y}, ok && also && x <= y
}

// plainNumber takes digits and one point, nothing else that strconv knows.
func plainNumber(words string) (float64, bool) {
	if words == "" || len(words) > 12 || slices.ContainsFunc([]byte(words), func(b byte) bool { return b != '.' && (b < '0' || b > '9') }) {
		return 0, false
	}
	x, err := strconv.ParseFloat(words, 64)
	return x, err == nil
}
