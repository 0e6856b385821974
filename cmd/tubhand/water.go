package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"tubhand/internal/water"
)

const waterUsage = `usage: tubhand water [--batch]

Reads one JSON object from standard input and answers it with one line; with --batch
one object a line, each answered in the same order, a bad one in place with
{"id":...,"error":"..."}.

  {"id":1,"op":"index","water":{"ph":7.5,"total_alkalinity":100,"calcium_hardness":180}}

Operations: index, predict, aerate, chlorine, amount, plan.
`

// runWater is `tubhand water`: chemistry, without state.
func runWater(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	return linesCommand{name: "water", what: "waters", usage: waterUsage, answer: waterAnswer}.run(args, stdin, stdout, stderr)
}

// waterAnswer answers one object; a bad one gets its fault as the answer.
func waterAnswer(text []byte) ([]byte, error) {
	answer, err := waterLine(text)
	if err != nil {
		answer = waterProblem{ID: waterID(text), Error: err.Error()}
	}
	line, unsaid := json.Marshal(answer)
	return line, errors.Join(err, unsaid)
}

// waterRequest is one line. Water stays raw: what a field may hold depends on the
// operation.
type waterRequest struct {
	ID        json.RawMessage            `json:"id"`
	Op        string                     `json:"op"`
	Water     map[string]json.RawMessage `json:"water"`
	Add       []waterAddition            `json:"add"`
	PCO2      *float64                   `json:"pco2_atm"`
	Constants string                     `json:"constants"`
	Chemical  water.Chemical             `json:"chemical"`
	Target    map[string]float64         `json:"target"`
	waterPlanRequest
}

type waterAddition struct {
	Chemical water.Chemical `json:"chemical"`
	Grams    *float64       `json:"grams"`
}

type waterProblem struct {
	ID    json.RawMessage `json:"id"`
	Error string          `json:"error"`
}

// waterID digs the id out of a line, also out of one that is not wholly JSON.
func waterID(text []byte) json.RawMessage {
	tokens := json.NewDecoder(bytes.NewReader(text))
	if _, err := tokens.Token(); err != nil {
		return json.RawMessage("null")
	}
	for tokens.More() {
		key, err := tokens.Token()
		if err != nil {
			break
		}
		var value json.RawMessage
		if err := tokens.Decode(&value); err != nil {
			break
		}
		if key == "id" {
			return value
		}
	}
	return json.RawMessage("null")
}

// waterLine answers one line.
func waterLine(text []byte) (any, error) {
	var r waterRequest
	if err := strictJSON(text, &r); err != nil {
		return nil, err
	}
	if r.ID == nil {
		r.ID = json.RawMessage("null")
	}
	answers := map[string]func(*waterRequest) (any, error){
		"index": (*waterRequest).index, "predict": (*waterRequest).predict, "aerate": (*waterRequest).aerate,
		"chlorine": (*waterRequest).chlorine, "amount": (*waterRequest).amount, "plan": (*waterRequest).plan,
	}
	answer, ok := answers[r.Op]
	if !ok {
		return nil, fmt.Errorf("op: %q is none of index, predict, aerate, chlorine, amount, plan", r.Op)
	}
	return answer(&r)
}

// strictJSON decodes one value that fills the whole text, refusing unknown fields.
func strictJSON(text []byte, into any) error {
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		return waterJSONError(err)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return errors.New("more than one JSON value in the line")
	}
	return nil
}

// waterJSONError names the field of a value of the wrong type in plain words.
func waterJSONError(err error) error {
	var wrong *json.UnmarshalTypeError
	if errors.As(err, &wrong) && wrong.Field != "" {
		return fmt.Errorf("%s: cannot be a JSON %s", wrong.Field, wrong.Value)
	}
	return fmt.Errorf("not the JSON expected: %w", err)
}

type waterIndexAnswer struct {
	ID              json.RawMessage `json:"id"`
	Model           float64         `json:"saturation_index"`
	StandardMethods float64         `json:"saturation_index_standard_methods"`
	PHs             float64         `json:"ph_s"`
}

func (r *waterRequest) index() (any, error) {
	w, err := r.exactWater()
	if err != nil {
		return nil, err
	}
	got, err := water.Index(w)
	if err != nil {
		return nil, err
	}
	return waterIndexAnswer{r.ID, got.Model, got.StandardMethods, got.PHs}, nil
}

type waterWaterAnswer struct {
	ID    json.RawMessage `json:"id"`
	Grams *float64        `json:"grams,omitempty"`
	Water waterWater      `json:"water"`
}

func (r *waterRequest) predict() (any, error) {
	w, err := r.exactWater()
	if err != nil {
		return nil, err
	}
	additions := make([]water.Addition, 0, len(r.Add))
	for i, a := range r.Add {
		if a.Grams == nil {
			return nil, fmt.Errorf("add[%d].grams: is needed", i)
		}
		additions = append(additions, water.Addition{Chemical: a.Chemical, Grams: *a.Grams})
	}
	got, err := water.Predict(w, additions...)
	if err != nil {
		return nil, err
	}
	return waterWaterAnswer{ID: r.ID, Water: waterWaterOf(got)}, nil
}

func (r *waterRequest) aerate() (any, error) {
	w, err := r.exactWater()
	if err != nil {
		return nil, err
	}
	co2 := water.AirCO2
	if r.PCO2 != nil {
		co2 = *r.PCO2
	}
	got, err := water.Aerate(w, co2)
	if err != nil {
		return nil, err
	}
	return waterWaterAnswer{ID: r.ID, Water: waterWaterOf(got)}, nil
}

type waterChlorineAnswer struct {
	ID             json.RawMessage `json:"id"`
	HOCl           float64         `json:"hocl_mg_l"`
	OCl            float64         `json:"ocl_mg_l"`
	CyanurateBound float64         `json:"cyanurate_bound_mg_l"`
	HOClPercent    float64         `json:"hocl_percent"`
}

func (r *waterRequest) chlorine() (any, error) {
	w, err := r.exactWater()
	if err != nil {
		return nil, err
	}
	model := water.Wahman
	switch r.Constants {
	case "", "wahman_2019":
	case "obrien_1974":
		model = water.OBrien
	default:
		return nil, fmt.Errorf("constants: %q is neither wahman_2019 nor obrien_1974", r.Constants)
	}
	got, err := water.Chlorine(w, model)
	if err != nil {
		return nil, err
	}
	return waterChlorineAnswer{r.ID, got.HOCl, got.OCl, got.CyanurateBound, got.HOClPercent}, nil
}

func (r *waterRequest) amount() (any, error) {
	w, err := r.exactWater()
	if err != nil {
		return nil, err
	}
	if len(r.Target) != 1 {
		return nil, errors.New("target: one quantity and its value are needed")
	}
	for q, target := range r.Target {
		grams, after, err := water.Amount(w, r.Chemical, water.Quantity(q), target)
		if err != nil {
			return nil, err
		}
		return waterWaterAnswer{ID: r.ID, Grams: &grams, Water: waterWaterOf(after)}, nil
	}
	return nil, nil
}
