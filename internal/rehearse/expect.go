package rehearse

import (
	"context"
	"fmt"
	"strings"
	"time"

	"tubhand/internal/conversation"
)

// expect checks one expectation against what was said and how things stand.
func (p *Player) expect(t *Turn) error {
	e := t.Expect
	c, err := p.store.Load(context.Background(), p.shop.Key, p.owner.E164)
	if err != nil {
		return fmt.Errorf("look at the conversation: %w", err)
	}
	for _, found := range []string{p.wrongWords(e), wrongHandover(e, &c), p.wrongReminder(e), wrongPlace(e, &c)} {
		if found != "" {
			return &Failure{Line: t.Line, What: found}
		}
	}
	return nil
}

func (p *Player) wrongWords(e *Expect) string {
	said := strings.ToLower(strings.Join(p.said, "\n"))
	for _, want := range e.Said {
		if !strings.Contains(said, strings.ToLower(want)) {
			return fmt.Sprintf("expected %q to be said; said was %q", want, strings.Join(p.said, " / "))
		}
	}
	for _, never := range e.NotSaid {
		if strings.Contains(said, strings.ToLower(never)) {
			return fmt.Sprintf("%q must not be said; said was %q", never, strings.Join(p.said, " / "))
		}
	}
	if e.Messages != nil && *e.Messages != len(p.said) {
		return fmt.Sprintf("expected %d messages, %d went out: %q", *e.Messages, len(p.said), strings.Join(p.said, " / "))
	}
	return ""
}

func wrongHandover(e *Expect, c *conversation.Conversation) string {
	if e.Handover == nil {
		return ""
	}
	var open []string
	for _, h := range c.Open {
		if *e.Handover == h.Cause || *e.Handover == h.Severity {
			return ""
		}
		open = append(open, h.Cause+" ("+h.Severity+")")
	}
	if *e.Handover == "none" && len(open) == 0 {
		return ""
	}
	return fmt.Sprintf("expected handover %q, open are: %s", *e.Handover, orNone(open))
}

func orNone(names []string) string {
	if len(names) == 0 {
		return "none"
	}
	return strings.Join(names, ", ")
}

func (p *Player) wrongReminder(e *Expect) string {
	at, ok, err := p.store.NextDue(context.Background())
	switch {
	case err != nil:
		return "look for reminders: " + err.Error()
	case e.NoReminder && ok:
		return "expected no reminder, one is due in " + at.Sub(p.clock.Now()).String()
	case e.ReminderWithin == nil:
		return ""
	case !ok:
		return "expected a reminder, none is set"
	case at.Sub(p.clock.Now()) > time.Duration(*e.ReminderWithin):
		return fmt.Sprintf("expected a reminder within %s, the next is in %s", time.Duration(*e.ReminderWithin), at.Sub(p.clock.Now()))
	}
	return ""
}

func wrongPlace(e *Expect, c *conversation.Conversation) string {
	flowName, state, dose := "none", "none", "none"
	if s := c.Service; s != nil {
		flowName, state = s.Flow, s.State
		var newest time.Time
		for _, doses := range []map[string]conversation.Dose{s.Advised, s.Added} {
			for _, d := range doses {
				if !d.At.Before(newest) {
					newest, dose = d.At, d.Measure
				}
			}
		}
	}
	for _, is := range []struct {
		what string
		want *string
		have string
	}{{"flow", e.Flow, flowName}, {"state", e.State, state}, {"dose", e.Dose, dose}} {
		if is.want != nil && *is.want != is.have {
			return fmt.Sprintf("expected %s %q, it is %q", is.what, *is.want, is.have)
		}
	}
	return ""
}
