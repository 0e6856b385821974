package main

import (
	"encoding/json"
	"fmt"

	"tubhand/internal/water"
)

// waterPlanRequest is what only plan asks for.
type waterPlanRequest struct {
	Sanitizer        water.Sanitizer            `json:"sanitizer"`
	Chemicals        []waterProduct             `json:"chemicals"`
	Fill             map[string]json.RawMessage `json:"fill"`
	DosesWithoutRise int                        `json:"doses_without_rise"`
	CombinedTreated  bool                       `json:"combined_treated"`
	Breakpoint       bool                       `json:"breakpoint"`
}

// waterProduct is a chemical on hand: its name, or an object that also says what a
// level teaspoon of it weighs.
type waterProduct struct {
	Chemical         water.Chemical `json:"chemical"`
	GramsPerTeaspoon float64        `json:"grams_per_teaspoon"`
}

// UnmarshalJSON takes both spellings.
func (p *waterProduct) UnmarshalJSON(text []byte) error {
	if len(text) > 0 && text[0] == '"' {
		return json.Unmarshal(text, &p.Chemical)
	}
	type plain waterProduct
	return strictJSON(text, (*plain)(p))
}

type waterPlanAnswer struct {
	ID            json.RawMessage  `json:"id"`
	Soak          string           `json:"soak"`
	Severity      water.Severity   `json:"severity"`
	Additions     []waterDose      `json:"additions"`
	Retest        []water.Quantity `json:"retest"`
	Cautions      []string         `json:"cautions"`
	DrainFraction float64          `json:"drain_fraction,omitempty"`
}

type waterDose struct {
	Chemical water.Chemical `json:"chemical"`
	Grams    float64        `json:"grams"`
	Measure  string         `json:"measure"`
	Why      water.Why      `json:"why"`
	WaitMin  float64        `json:"wait_min"`
}

// plan answers with a plan. What a laboratory reads and an owner seldom does
// (temperature, cyanuric acid, combined chlorine, borate, dissolved solids) has the
// defaults of a water; what a plan rests on (volume, pH, alkalinity, hardness, the
// sanitizer) stays unknown when left out.
func (r *waterRequest) plan() (any, error) {
	readings, err := r.readings()
	if err != nil {
		return nil, err
	}
	for q, v := range map[water.Quantity]float64{
		water.Temperature: water.DefaultTempC, water.TDS: water.DefaultTDS,
		water.CyanuricAcid: 0, water.CombinedChlorine: 0, water.BorateB: 0,
	} {
		if _, given := r.Water[string(q)]; !given {
			*readings.At(q) = water.Exactly(v)
		}
	}
	request := water.Request{
		Water: readings, Sanitizer: r.Sanitizer, DosesWithoutRise: r.DosesWithoutRise,
		CombinedTreated: r.CombinedTreated, Breakpoint: r.Breakpoint,
	}
	for _, c := range r.Chemicals {
		request.OnHand = append(request.OnHand, water.Product(c))
	}
	if r.Fill != nil {
		fill, err := (&waterRequest{Water: r.Fill}).exactWater()
		if err != nil {
			return nil, fmt.Errorf("fill: %w", err)
		}
		request.Fill = &fill
	}
	got, err := water.Plan(request)
	if err != nil {
		return nil, err
	}
	return waterPlanAnswerOf(r.ID, &got), nil
}

func waterPlanAnswerOf(id json.RawMessage, got *water.Advice) waterPlanAnswer {
	out := waterPlanAnswer{
		ID: id, Soak: "no", Severity: got.Severity, DrainFraction: got.DrainFraction,
		Additions: make([]waterDose, 0, len(got.Additions)),
		Retest:    append([]water.Quantity{}, got.Retest...),
		Cautions:  make([]string, 0, len(got.Cautions)),
	}
	if got.Soak {
		out.Soak = "yes"
	}
	for i := range got.Additions {
		d := &got.Additions[i]
		out.Additions = append(out.Additions, waterDose{d.Chemical, d.Grams, d.Measure.String(), d.Why, d.Wait.Minutes()})
	}
	for _, c := range got.Cautions {
		out.Cautions = append(out.Cautions, c.Text())
	}
	return out
}
