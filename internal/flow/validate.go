package flow

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"time"
)

// The bounds of a flow: past these nobody can follow it, and the exploration of
// Check would not end in time.
const (
	mostStates = 200
	mostFacts  = 16
	mostValues = 8
)

// checker collects what is wrong in one flow.
type checker struct {
	flow     *Flow
	where    string // the state at hand
	problems []error
}

func (c *checker) problem(at *place, do, format string, args ...any) {
	problem := &Problem{File: c.flow.file, Where: c.where, What: fmt.Sprintf(format, args...), Do: do}
	if at != nil {
		problem.Line, problem.Column = at.line, at.column
		if at.file != "" {
			problem.File = at.file
		}
	}
	c.problems = append(c.problems, problem)
}

// validate checks everything that the file alone can tell, and builds the index of states.
func (f *Flow) validate() error {
	c := &checker{flow: f}
	f.byName = make(map[string]*State, len(f.States))
	c.index()
	c.head()
	c.facts()
	for i := range f.Always {
		c.transition(&f.Always[i], f.at.key("always").item(i), f.signals(nil))
	}
	c.shadowed(f.Always, f.at.key("always"))
	if f.Silence != nil {
		c.silence(f.Silence, f.at.key("silence"))
	}
	for i, state := range f.States {
		c.where = fmt.Sprintf("state %q", state.Name)
		c.state(state, f.at.key("states").item(i))
	}
	c.where = ""
	c.skipLoops()
	return errors.Join(c.problems...)
}

// index builds byName and notes names that are missing, odd or given twice.
func (c *checker) index() {
	f := c.flow
	if len(f.States) == 0 {
		c.problem(f.at.key("states"), "write at least one state", "no states")
	}
	if len(f.States) > mostStates {
		c.problem(f.at.key("states"), "split the flow; troubles are good for that", "%d states, the most is %d", len(f.States), mostStates)
	}
	for i, state := range f.States {
		at := f.at.key("states").item(i).key("state")
		if !isName(state.Name) {
			c.problem(at, nameRule, "a state named %q", state.Name)
			continue
		}
		if _, twice := f.byName[state.Name]; twice {
			c.problem(at, "give one of them another name", "two states are named %q", state.Name)
			continue
		}
		f.byName[state.Name] = state
	}
}

const (
	nameRule    = "use small letters, digits and _, beginning with a letter"
	wordingRule = nameRule + "; dots may join such names"
)

func (c *checker) head() {
	f := c.flow
	if !isName(f.Name) {
		c.problem(f.at.key("flow"), nameRule, "a flow named %q", f.Name)
	}
	if !isTitle(f.Title) {
		c.problem(f.at.key("title"), fmt.Sprintf("say in a few words, at most %d letters on one line, what the flow is for", longestTitle),
			"a title written %q", f.Title)
	}
	if f.Kind != ServiceKind && f.Kind != TroubleKind {
		c.problem(f.at.key("kind"), "write service or trouble", "unknown kind %q", f.Kind)
	}
	if _, ok := f.byName[f.Start]; !ok {
		c.problem(f.at.key("start"), "name the first state"+c.meant(f.Start), "unknown start %q", f.Start)
	}
}

// facts checks the facts that the flow declares.
func (c *checker) facts() {
	at := c.flow.at.key("facts")
	if len(c.flow.Facts) > mostFacts {
		c.problem(at, "ask less, or split the flow", "%d facts, the most is %d", len(c.flow.Facts), mostFacts)
	}
	builtIn := builtInFacts()
	for _, name := range slices.Sorted(maps.Keys(c.flow.Facts)) {
		values := c.flow.Facts[name]
		switch _, taken := builtIn[name]; {
		case taken:
			c.problem(at.name(name), "take it out; every flow has it", "the fact %q is built in", name)
		case isNumber(name):
			c.problem(at.name(name), "take it out; ask for it instead", "%q is a number, not a fact", name)
		case !isName(name):
			c.problem(at.name(name), nameRule, "a fact named %q", name)
		}
		if len(values) < 1 || len(values) > mostValues {
			c.problem(at.key(name), fmt.Sprintf("list 1 to %d values", mostValues), "fact %q has %d values", name, len(values))
		}
		for i, value := range values {
			if !isName(value) || slices.Index(values, value) < i {
				c.problem(at.key(name).item(i), nameRule+"; each once", "fact %q can't have the value %q", name, value)
			}
		}
	}
}

// factValues gives the values a fact can have.
func (f *Flow) factValues(name string) ([]string, bool) {
	if values, ok := f.Facts[name]; ok {
		return values, true
	}
	values, ok := builtInFacts()[name]
	return values, ok
}

// longestWait bounds every duration in a flow: no wait of a service takes longer.
const longestWait = 60 * 24 * time.Hour

// duration checks a time that is given in a file.
func (c *checker) duration(d Duration, at *place) bool {
	switch {
	case d == unreadable:
		c.problem(at, "write it like 30m or 1h30m", "a duration that can't be read")
	case d <= 0 || time.Duration(d) > longestWait:
		c.problem(at, "write a time over 0 and at most 1440h", "a duration of %s", time.Duration(d))
	default:
		return true
	}
	return false
}

func (c *checker) silence(s *Silence, at *place) {
	last := Duration(0)
	for i, nudge := range s.Nudge {
		if !c.duration(nudge, at.key("nudge").item(i)) {
			continue
		}
		if nudge <= last {
			c.problem(at.key("nudge").item(i), "list nudges from early to late", "a nudge after %s follows one after %s",
				time.Duration(nudge), time.Duration(last))
		}
		last = nudge
	}
	if !at.has("person") {
		c.problem(at, "say after how long a person is told: person: 2h", "silence without a person")
		return
	}
	if c.duration(s.Person, at.key("person")) && s.Person <= last {
		c.problem(at.key("person"), "give the owner the nudges first", "a person after %s, a nudge after %s",
			time.Duration(s.Person), time.Duration(last))
	}
	c.cause(s.Cause, s.Severity, at)
}

// cause checks why a person is brought in.
func (c *checker) cause(cause, severity string, at *place) {
	if !isName(cause) {
		c.problem(at.key("cause"), "name the cause; "+nameRule, "a cause named %q", cause)
	}
	if !slices.Contains(severities(), severity) {
		c.problem(at.key("severity"), "write "+oneOf(severities()), "unknown severity %q", severity)
	}
}
