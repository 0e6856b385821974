// Package corpus reads labelled texts and compares what was understood with the
// labels. It does no input or output of its own.
package corpus

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"

	"tubhand/internal/safety"
	"tubhand/internal/understand"
	"tubhand/internal/understand/batch"
)

// Want is the label of one text.
type Want struct {
	Intent   understand.Intent   `json:"intent"`
	Service  string              `json:"service"`
	Readings understand.Readings `json:"readings"`
	Volume   *Volume             `json:"volume"`
	Hazard   safety.Hazard       `json:"hazard"`
	Severity safety.Severity     `json:"severity"`
	Clarify  bool                `json:"clarify"`
}

// Volume is a labelled volume: {"us_gal":n or [lo,hi]}, the same with
// "dimensions":true, or "unknown".
type Volume struct {
	Unknown    bool
	Dimensions bool
	USGal      understand.Value
}

// UnmarshalJSON reads the three forms of a labelled volume.
func (v *Volume) UnmarshalJSON(data []byte) error {
	*v = Volume{}
	if string(data) == `"unknown"` {
		v.Unknown = true
		return nil
	}
	var raw struct {
		Dimensions json.RawMessage  `json:"dimensions"`
		USGal      understand.Value `json:"us_gal"`
	}
	if err := json.Unmarshal(data, &raw); err != nil {
		return fmt.Errorf("volume %s: %w", data, err)
	}
	v.Dimensions = len(raw.Dimensions) > 0 && string(raw.Dimensions) != "false" && string(raw.Dimensions) != "null"
	v.USGal = raw.USGal
	return nil
}

// Sample is one labelled text: a request and what it should mean.
type Sample struct {
	batch.Request
	Label  string // file and line
	Writer string // file
	Want   Want
}

// Read reads JSON Lines of labelled texts. Errors name the file and line.
func Read(name string, r io.Reader) ([]Sample, error) {
	var out []Sample
	lines := bufio.NewScanner(r)
	lines.Buffer(make([]byte, 64<<10), 4<<20)
	for n := 1; lines.Scan(); n++ {
		if len(lines.Bytes()) == 0 {
			continue
		}
		request, err := batch.Decode(lines.Bytes())
		if err != nil {
			return nil, fmt.Errorf("%s:%d: %w", name, n, err)
		}
		var label struct {
			Want *Want `json:"want"`
		}
		if err := json.Unmarshal(lines.Bytes(), &label); err != nil {
			return nil, fmt.Errorf("%s:%d: want: %w", name, n, err)
		}
		if label.Want == nil {
			return nil, fmt.Errorf("%s:%d: want: missing", name, n)
		}
		out = append(out, Sample{Request: request, Label: fmt.Sprintf("%s:%d", name, n), Writer: name, Want: *label.Want})
	}
	if err := lines.Err(); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return out, nil
}
