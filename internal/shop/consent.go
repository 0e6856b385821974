package shop

import (
	"regexp"
	"strings"

	"tubhand/internal/conversation"
)

// Retention is how many months a shop keeps things; 0 is for good.
type Retention struct {
	Transcripts int // what was said
	Cases       int // closed cases
	Idle        int // owners with whom nothing has happened, and all that is kept of them
	Audit       int // what staff did
}

// consent is what a shop lays down about texting its owners.
type consent struct {
	Texts            string            `yaml:"texts"` // hours, like 9:00-20:00: what nobody waits for goes out within them
	NudgesPerDay     int               `yaml:"nudges_per_day"`
	NudgesPerService int               `yaml:"nudges_per_service"`
	Printed          map[string]string `yaml:"printed"` // words that owners text first: what is printed with them
}

// retention is how many months things are kept; what is left out is kept for good.
type retention struct {
	Transcripts *int `yaml:"transcripts_months"`
	Cases       *int `yaml:"closed_cases_months"`
	Idle        *int `yaml:"idle_owners_months"`
	Audit       *int `yaml:"staff_log_months"`
}

// most bounds of what may be written.
const (
	mostNudges  = 50
	mostPrinted = 20
	mostMonths  = 240
)

// printedForm has a figure in it, so that no word of an owner's is taken for one.
var printedForm = regexp.MustCompile(`^[A-Z]{2,12}[0-9]{1,4}$`)

// consent checks that a shop only narrows the hours, and prints words that mean nothing
// else.
func (c *check) consent(w consent) conversation.ConsentRules {
	rules := conversation.ConsentRules{
		NudgesPerDay:     c.atMost("$.consent.nudges_per_day", w.NudgesPerDay, mostNudges),
		NudgesPerService: c.atMost("$.consent.nudges_per_service", w.NudgesPerService, mostNudges),
	}
	rules.From, rules.Until = c.textHours("$.consent.texts", w.Texts)
	if len(w.Printed) > mostPrinted {
		c.bad("$.consent.printed", "has %d words; keep at most %d", len(w.Printed), mostPrinted)
	}
	for _, word := range keys(w.Printed) {
		path := "$.consent.printed." + word
		if !printedForm.MatchString(word) {
			c.bad(path, "is no word to print; use 2 to 12 capitals and then a number, like TUB1")
		}
		c.said(path, w.Printed[word], 300)
	}
	if len(w.Printed) > 0 {
		rules.Printed = w.Printed
	}
	return rules
}

// textHours reads the hours within which texts that nobody waits for go out; 0 and 0
// where none are written.
func (c *check) textHours(path, text string) (from, until int) {
	if text == "" {
		return 0, 0
	}
	a, b, _ := strings.Cut(text, "-")
	from, ok1 := minutes(a)
	until, ok2 := minutes(b)
	switch {
	case !ok1 || !ok2 || from >= until:
		c.bad(path, "%q is no span of hours; write one like 9:00-20:00", text)
	case from < conversation.EarliestText || until > conversation.LatestText:
		c.bad(path, "%q is wider than the law allows (47 CFR 64.1200); stay within 8:00-21:00", text)
	case until-from < 60:
		c.bad(path, "%q leaves less than an hour; write one like 9:00-20:00", text)
	}
	return from, until
}

func (c *check) atMost(path string, n, most int) int {
	if n < 0 || n > most {
		c.bad(path, "%d is not from 1 to %d", n, most)
	}
	return n
}

func (c *check) retention(w retention) Retention {
	months := func(name string, n *int) int {
		if n == nil {
			return 0
		}
		if *n < 1 || *n > mostMonths {
			c.bad("$.retention."+name, "%d is not from 1 to %d months; take it out to keep it for good", *n, mostMonths)
		}
		return *n
	}
	return Retention{
		Transcripts: months("transcripts_months", w.Transcripts),
		Cases:       months("closed_cases_months", w.Cases),
		Idle:        months("idle_owners_months", w.Idle),
		Audit:       months("staff_log_months", w.Audit),
	}
}
