package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"flag"
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

// runWater is `tubhand water`: chemistry, without state. It returns the exit status: 0,
// 1 where a line was bad, 2 on wrong usage.
func runWater(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	flags := flag.NewFlagSet("water", flag.ContinueOnError)
	flags.SetOutput(stderr)
	flags.Usage = func() { fmt.Fprint(stderr, waterUsage) }
	batch := flags.Bool("batch", false, "read JSON Lines, answer each in order")
	if err := flags.Parse(args); err != nil {
		if errors.Is(err, flag.ErrHelp) {
			return 0
		}
		return 2
	}
	if flags.NArg() > 0 {
		fmt.Fprintf(stderr, "water: unexpected argument %q; waters come from standard input\n", flags.Arg(0))
		return 2
	}
	if *batch {
		return waterLines(stdin, stdout, stderr)
	}
	return waterOne(stdin, stdout, stderr)
}

func waterOne(stdin io.Reader, stdout, stderr io.Writer) int {
	text, err := io.ReadAll(io.LimitReader(stdin, longestLine))
	if err != nil {
		fmt.Fprintf(stderr, "water: reading standard input: %v\n", err)
		return 1
	}
	answer, fault := waterAnswer(bytes.TrimSpace(text))
	if err := json.NewEncoder(stdout).Encode(answer); err != nil {
		fmt.Fprintf(stderr, "water: writing the answer: %v\n", err)
		return 1
	}
	if fault != nil {
		fmt.Fprintf(stderr, "water: %v\n", fault)
		return 1
	}
	return 0
}

// waterLines answers line by line. What is written is flushed whenever no more input
// waits, so that a caller may converse line by line.
func waterLines(stdin io.Reader, stdout, stderr io.Writer) int {
	in := bufio.NewReaderSize(stdin, 64<<10)
	out := bufio.NewWriter(stdout)
	answers := json.NewEncoder(out)
	status := 0
	for number := 1; ; number++ {
		line, readErr := readLine(in)
		if line = bytes.TrimSpace(line); len(line) > 0 {
			answer, fault := waterAnswer(line)
			if fault != nil {
				fmt.Fprintf(stderr, "water: line %d: %v\n", number, fault)
				status = 1
			}
			if err := answers.Encode(answer); err != nil {
				fmt.Fprintf(stderr, "water: writing answers: %v\n", err)
				return 1
			}
		}
		if in.Buffered() == 0 || readErr != nil {
			if err := out.Flush(); err != nil {
				fmt.Fprintf(stderr, "water: writing answers: %v\n", err)
				return 1
			}
		}
		if errors.Is(readErr, io.EOF) {
			return status
		}
		if readErr != nil {
			fmt.Fprintf(stderr, "water: line %d: %v\n", number, readErr)
			return 1
		}
	}
}

// waterAnswer answers one object; a bad one gets its fault as the answer.
func waterAnswer(text []byte) (any, error) {
	answer, err := waterLine(text)
	if err != nil {
		return waterProblem{ID: waterID(text), Error: err.Error()}, err
	}
	return answer, nil
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
