// Package rehearse plays scripted conversations against the real turn code, on a clock
// that jumps and a store in memory, and checks what they expect. A script is a YAML
// file that reads like the conversation.
package rehearse

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/goccy/go-yaml"
)

// MaxBytes bounds a script.
const MaxBytes = 256 << 10

// Script is one rehearsal.
type Script struct {
	About string    `yaml:"about"` // what it shows, for the reader
	Shop  string    `yaml:"shop"`  // "demo", or a shop file's path
	Start time.Time `yaml:"start"`
	Owner Owner     `yaml:"owner"`
	Tub   Tub       `yaml:"tub"`
	Label *Label    `yaml:"label"`
	Turns []Turn    `yaml:"turns"`
}

// Owner is who texts.
type Owner struct {
	Address  string `yaml:"address"`
	Language string `yaml:"language"`
	Name     string `yaml:"name"`
}

// Tub is what is known of the tub beforehand.
type Tub struct {
	VolumeGal float64 `yaml:"volume_gal"`
	Sanitizer string  `yaml:"sanitizer"`
	HeaterKW  float64 `yaml:"heater_kw"`
	HoseGPM   float64 `yaml:"hose_gpm"`
	PumpGPH   float64 `yaml:"pump_gph"`
}

// Label is another flush product's label than the shop's.
type Label struct {
	Teaspoons    float64 `yaml:"teaspoons"`
	PerUSGal     float64 `yaml:"per_us_gal"`
	JarTeaspoons float64 `yaml:"jar_teaspoons"`
}

// Turn is one line of the script: exactly one field is set, but for From beside Owner.
type Turn struct {
	Owner  *string   `yaml:"owner"`  // the owner writes; "{code}" stands for the last six digits that were sent alone
	From   string    `yaml:"from"`   // from this address instead of their first
	Wait   *duration `yaml:"wait"`   // time goes by; what is due happens
	Staff  *Act      `yaml:"staff"`  // someone at the shop does something
	Expect *Expect   `yaml:"expect"` // what must be so now
	Line   int       `yaml:"-"`
}

// Act is what someone at the shop does: exactly one of Claim, Reply, HandBack, Close.
type Act struct {
	By       string  `yaml:"by"` // staff key; default: the shop's first
	Claim    bool    `yaml:"claim"`
	Reply    string  `yaml:"reply"`
	HandBack *string `yaml:"hand_back"` // the state to go on from; "" where it was
	Close    *string `yaml:"close"`     // the outcome
	Start    string  `yaml:"start"`     // a flow

	Correct map[string]float64 `yaml:"correct"` // what the owner's last test really showed, by quantity
	Set     map[string]string  `yaml:"set"`     // one fact of the tub
	Pause   bool               `yaml:"pause"`   // take the conversation
	Speak   string             `yaml:"speak"`   // the owner's language
}

// Expect is what must be so. Said and NotSaid look at what went out since the last
// owner, wait or staff line, without regard to case; the rest at how things stand.
type Expect struct {
	Said           words     `yaml:"said"`
	NotSaid        words     `yaml:"not_said"`
	Messages       *int      `yaml:"messages"`        // how many went out
	Handover       *string   `yaml:"handover"`        // an open case's cause or severity, or "none"
	ReminderWithin *duration `yaml:"reminder_within"` // something is due within this time
	NoReminder     bool      `yaml:"no_reminder"`
	State          *string   `yaml:"state"` // of the running flow, or "none"
	Flow           *string   `yaml:"flow"`  // or "none"
	Dose           *string   `yaml:"dose"`  // the newest advised measure, or "none"
}

// words is one text or several.
type words []string

// UnmarshalYAML takes one text or a list of texts.
func (w *words) UnmarshalYAML(src []byte) error {
	var many []string
	if err := yaml.Unmarshal(src, &many); err == nil {
		*w = many
		return nil
	}
	var one string
	if err := yaml.Unmarshal(src, &one); err != nil {
		return fmt.Errorf("a text or a list of texts: %w", err)
	}
	*w = words{one}
	return nil
}

// duration is a time.Duration written "30m"; days may be written "2d".
type duration time.Duration

// UnmarshalYAML takes "30m", "2h15m" or "2d".
func (d *duration) UnmarshalYAML(src []byte) error {
	var text string
	if err := yaml.Unmarshal(src, &text); err != nil {
		return fmt.Errorf("a duration such as 30m: %w", err)
	}
	var days float64
	if n, err := fmt.Sscanf(text, "%fd", &days); err == nil && n == 1 && text[len(text)-1] == 'd' {
		*d = duration(days * 24 * float64(time.Hour))
		return nil
	}
	v, err := time.ParseDuration(text)
	if err != nil || v < 0 {
		return fmt.Errorf("%q is not a duration; write it like 30m, 2h or 1d", text)
	}
	*d = duration(v)
	return nil
}

// Parse reads a script strictly. Errors name file, line and column.
func Parse(file string, src []byte) (*Script, error) {
	if len(src) > MaxBytes {
		return nil, fmt.Errorf("%s: has %d bytes; a script may have at most %d", file, len(src), MaxBytes)
	}
	d := yaml.NewDecoder(bytes.NewReader(src), yaml.Strict())
	var s Script
	if err := d.Decode(&s); err != nil {
		if errors.Is(err, io.EOF) {
			return nil, fmt.Errorf("%s:1: is empty; a script needs shop, start, owner and turns", file)
		}
		return nil, fmt.Errorf("%s: %w", file, err)
	}
	if err := d.Decode(&Script{}); !errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("%s: holds a second document; one script to a file", file)
	}
	lines := turnLines(src)
	for i := range s.Turns {
		if i < len(lines) {
			s.Turns[i].Line = lines[i]
		}
		if err := s.Turns[i].check(); err != nil {
			return nil, fmt.Errorf("%s:%d: turn %d: %w", file, s.Turns[i].Line, i+1, err)
		}
	}
	return &s, s.check(file)
}

func (s *Script) check(file string) error {
	switch {
	case s.Start.IsZero():
		return fmt.Errorf("%s: start is missing; write it like 2026-06-13T09:00:00-07:00", file)
	case s.Owner.Address == "":
		return fmt.Errorf("%s: owner: address is missing", file)
	case len(s.Turns) == 0:
		return fmt.Errorf("%s: has no turns", file)
	}
	return nil
}

func (t *Turn) check() error {
	n := 0
	for _, set := range [...]bool{t.Owner != nil, t.Wait != nil, t.Staff != nil, t.Expect != nil} {
		if set {
			n++
		}
	}
	switch {
	case n != 1:
		return errors.New("needs exactly one of owner, wait, staff, expect")
	case t.From != "" && t.Owner == nil:
		return errors.New("from goes with owner")
	}
	return nil
}

// turnLines finds the line of each entry under turns.
func turnLines(src []byte) []int {
	var lines []int
	inTurns, indent := false, -1
	for i, line := range bytes.Split(src, []byte("\n")) {
		trimmed := bytes.TrimLeft(line, " ")
		switch {
		case bytes.HasPrefix(line, []byte("turns:")):
			inTurns = true
		case !inTurns || !bytes.HasPrefix(trimmed, []byte("- ")):
		case indent == -1 || len(line)-len(trimmed) == indent:
			indent = len(line) - len(trimmed)
			lines = append(lines, i+1)
		}
	}
	return lines
}
