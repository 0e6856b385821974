package rehearse

import (
	"errors"
	"fmt"
	"strconv"
	"time"
)

// Checked is an expectation of a script that has been looked at.
type Checked struct {
	Line  int
	What  []string // what was expected, in words
	Found string   // what was found instead; "" where it is as expected
}

// OnExpect has each expectation told as it is looked at, between the events around it. It
// is set before Play.
func (p *Player) OnExpect(told func(Checked)) { p.checked = told }

// look checks an expectation and tells of it.
func (p *Player) look(t *Turn) error {
	err := p.expect(t)
	if p.checked != nil {
		c := Checked{Line: t.Line, What: t.Expect.Words()}
		var failure *Failure
		if errors.As(err, &failure) {
			c.Found = failure.What
		}
		p.checked(c)
	}
	return err
}

// Words puts an expectation in words, one for each thing that must be so.
func (e *Expect) Words() []string {
	var out []string
	for _, w := range e.Said {
		out = append(out, fmt.Sprintf("says %q", w))
	}
	for _, w := range e.NotSaid {
		out = append(out, fmt.Sprintf("does not say %q", w))
	}
	if e.Messages != nil {
		out = append(out, "messages: "+strconv.Itoa(*e.Messages))
	}
	if e.ReminderWithin != nil {
		out = append(out, "something is due within "+time.Duration(*e.ReminderWithin).String())
	}
	if e.NoReminder {
		out = append(out, "nothing is due")
	}
	for _, is := range [...]struct {
		what string
		want *string
	}{{"handover", e.Handover}, {"flow", e.Flow}, {"step", e.State}, {"dose", e.Dose}} {
		if is.want != nil {
			out = append(out, is.what+": "+*is.want)
		}
	}
	return out
}
