// Package batch is the machine interface of understanding: one JSON object in, one
// out, as `tubhand understand` speaks it. It holds no state and does no input or output.
package batch

import (
	"bytes"
	"encoding/json"
	"fmt"

	"tubhand/internal/safety"
	"tubhand/internal/understand"
)

// Request is one text with its context, as users of the command write it.
type Request struct {
	ID            json.RawMessage       `json:"id"`
	Text          *string               `json:"text"`
	Language      string                `json:"lang"`
	Asked         understand.Asked      `json:"asked"`
	AskedReadings []understand.Quantity `json:"asked_readings"`
	Proposed      map[string]float64    `json:"proposed"`
	Choices       []string              `json:"choices"`
	Step          string                `json:"step"`
}

// Answer is the meaning of one text, as the command writes it.
type Answer struct {
	ID         json.RawMessage     `json:"id"`
	Language   string              `json:"lang"`
	Intent     understand.Intent   `json:"intent"`
	Service    string              `json:"service,omitempty"`
	Choice     string              `json:"choice,omitempty"`
	Readings   understand.Readings `json:"readings"`
	Volume     *understand.Volume  `json:"volume,omitempty"`
	When       string              `json:"when,omitempty"`
	ErrorCode  string              `json:"error_code,omitempty"`
	Hazard     safety.Hazard       `json:"hazard"`
	Severity   safety.Severity     `json:"severity"`
	Clarify    bool                `json:"clarify"`
	ClarifyWhy string              `json:"clarify_why,omitempty"`
}

// Failure answers a line that could not be understood as a request.
type Failure struct {
	ID    json.RawMessage `json:"id"`
	Error string          `json:"error"`
}

// Line answers one line: a JSON object without a line end, and the fault of the line if
// it had one. The answer is never empty, whatever the bytes.
func Line(line []byte) ([]byte, error) {
	request, err := Decode(line)
	if err != nil {
		return encode(Failure{ID: idOf(request.ID), Error: err.Error()}), err
	}
	return encode(AnswerTo(request)), nil
}

// Decode reads and checks one request. Errors name the field at fault.
func Decode(line []byte) (Request, error) {
	var r Request
	if err := json.Unmarshal(line, &r); err != nil {
		return Request{ID: onlyID(line)}, fmt.Errorf("not a request: %w", err)
	}
	if r.Text == nil {
		return r, fmt.Errorf("text: missing; give the owner's words as a string")
	}
	return r, r.check()
}

func onlyID(line []byte) json.RawMessage {
	var id struct {
		ID json.RawMessage `json:"id"`
	}
	// A line that is no object has no id to give back.
	_ = json.Unmarshal(line, &id)
	return id.ID
}

func idOf(id json.RawMessage) json.RawMessage {
	if len(id) == 0 {
		return json.RawMessage("null")
	}
	return id
}

func (r Request) check() error {
	if r.Language != "" && r.Language != "en" && r.Language != "es" {
		return fmt.Errorf("lang: %q; want en or es", r.Language)
	}
	switch r.Asked {
	case "", understand.AskedReadings, understand.AskedVolume, understand.AskedDone, understand.AskedYesNo, understand.AskedConfirm,
		understand.AskedChoice, understand.AskedTime, understand.AskedLanguage, understand.AskedNothing:
	default:
		return fmt.Errorf("asked: %q is none of readings, volume, done, yes_no, confirm, choice, time, language, nothing", r.Asked)
	}
	for _, q := range r.AskedReadings {
		if !known(q) {
			return fmt.Errorf("asked_readings: %q is no reading", q)
		}
	}
	for name := range r.Proposed {
		if name != "us_gal" && !known(understand.Quantity(name)) {
			return fmt.Errorf("proposed: %q is neither us_gal nor a reading", name)
		}
	}
	return nil
}

func known(q understand.Quantity) bool {
	for _, k := range understand.AllQuantities() {
		if k == q {
			return true
		}
	}
	return false
}

// Context returns the request's context as the package understand takes it.
func (r Request) Context() understand.Context {
	c := understand.Context{Language: r.Language, Asked: r.Asked, AskedReadings: r.AskedReadings, Proposed: r.Proposed, Step: r.Step}
	for _, name := range r.Choices {
		c.Choices = append(c.Choices, understand.Choice{Name: name})
	}
	return c
}

// AnswerTo understands one checked request.
func AnswerTo(r Request) Answer {
	m := understand.Understand(*r.Text, r.Context())
	a := Answer{
		ID: idOf(r.ID), Language: m.Language, Intent: m.Intent, Service: m.Service, Choice: m.Choice, Readings: m.Readings, Volume: m.Volume,
		When: m.When, ErrorCode: m.ErrorCode, Hazard: m.Hazard, Severity: m.Severity, Clarify: m.Clarify, ClarifyWhy: m.ClarifyWhy,
	}
	if a.Readings == nil {
		a.Readings = understand.Readings{}
	}
	return a
}

// encode writes one line of JSON without escaping < and >.
func encode(v any) []byte {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		// Only an id of broken JSON could get here, and Decode has parsed it.
		return []byte(`{"id":null,"error":"cannot write the answer"}`)
	}
	return bytes.TrimRight(b.Bytes(), "\n")
}
