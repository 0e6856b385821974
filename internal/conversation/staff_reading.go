package conversation

import (
	"maps"
	"slices"
	"strings"
	"time"

	"tubhand/internal/safety"
	"tubhand/internal/understand"
)

// correct takes what a person of the shop says a test really showed. It is held to what an
// owner's test is held to (it can't contradict itself or the log, an unsafe value is a
// person's), counts from when the owner sent it, and the owner is told whatever follows.
func (t *turn) correct(a StaffAction) {
	known := told(a.Readings)
	at := a.At
	if at.IsZero() || at.After(t.now) {
		at = t.now
	}
	what := english.readings(known)
	switch {
	case len(known) == 0:
		return
	case !possible(known):
		t.acted(a, "wanted to correct a test to %s, which no test can show; nothing was changed", what)
		return
	}
	past, readings := t.c.Tub.Past, t.c.Tub.Readings
	gone := t.unread(at)
	if o, odd := t.oddAt(known, at); odd {
		t.c.Tub.Past, t.c.Tub.Readings = past, readings
		t.acted(a, "wanted to correct a test to %s; it can't be right (%s), so nothing was changed. Ask for a new test", what, o.why)
		return
	}
	t.acted(a, "corrected the test of %s: %s%s", t.clock(at), what, because(a.Reason))
	t.recordAt(known, at)
	t.withdraw(gone, known, at)
	t.afterCorrection(a, known, at)
}

func because(reason string) string {
	if reason = strings.TrimSpace(reason); reason == "" {
		return ""
	}
	return ". Reason: " + reason
}

// possible tells whether readings are such as a test can show at all.
func possible(r Readings) bool {
	for q, v := range r {
		if !understand.Possible(q, v) {
			return false
		}
	}
	return true
}

// oddAt finds what can't be true in a corrected test. One from before the last readings is
// not held against a log that goes on after it.
func (t *turn) oddAt(known Readings, at time.Time) (odd, bool) {
	if len(t.c.Tub.Past) > 0 && t.c.Tub.Past[len(t.c.Tub.Past)-1].At.After(at) {
		if contradict(known) {
			return contradiction(), true
		}
		return odd{}, false
	}
	return t.oddOnes(known)
}

// unread takes out what was read from the text that is corrected: all of it, since a number
// may have been taken for another quantity. It gives what was taken out.
func (t *turn) unread(at time.Time) (gone Readings) {
	gone = Readings{}
	t.c.Tub.Past = slices.DeleteFunc(slices.Clone(t.c.Tub.Past), func(p Past) bool {
		if p.Chemical != "" || !sameMoment(p.At, at) {
			return false
		}
		maps.Copy(gone, p.Read)
		return true
	})
	t.c.Tub.Readings = maps.Clone(t.c.Tub.Readings)
	for _, q := range orderedMeasured(t.c.Tub.Readings) {
		if m := t.c.Tub.Readings[q]; sameMoment(m.At, at) {
			gone[q] = m.Value
			delete(t.c.Tub.Readings, q)
		}
	}
	return gone
}

// sameMoment compares times of which one has been in a store, which keeps milliseconds.
func sameMoment(a, b time.Time) bool {
	return a.Truncate(time.Millisecond).Equal(b.Truncate(time.Millisecond))
}

// withdraw marks in the log that a reading was none.
func (t *turn) withdraw(gone, known Readings, at time.Time) {
	for _, q := range ordered(gone) {
		if _, still := known[q]; !still {
			t.log(LogEntry{Kind: "withdrawn", Name: string(q), Text: english.reading(q, gone[q])})
			t.fx.Log[len(t.fx.Log)-1].At = at
		}
	}
}

// recordAt keeps corrected readings as of when they were taken; a newer reading stays.
func (t *turn) recordAt(known Readings, at time.Time) {
	derive(known)
	t.c.Tub.Past = append(t.c.Tub.Past, Past{At: at, Read: known})
	slices.SortStableFunc(t.c.Tub.Past, func(a, b Past) int { return a.At.Compare(b.At) })
	t.c.Tub.Past = t.c.Tub.Past[max(0, len(t.c.Tub.Past)-pastMost):]
	for _, q := range ordered(known) {
		v := known[q]
		t.logReading(q, v, at)
		if m, ok := t.c.Tub.Readings[q]; ok && m.At.After(at) {
			continue
		}
		put(&t.c.Tub.Readings, q, Measured{Value: v, At: at})
		if _, counts := t.fresh(q); counts {
			t.helped(q, v)
		}
	}
}

// afterCorrection has a corrected test that still counts do what an owner's would. While a
// person has the conversation or the owner wants no texts, doses that it voids are taken
// back and nothing is said.
func (t *turn) afterCorrection(a StaffAction, known Readings, at time.Time) {
	counts := false
	for q := range known {
		if m, fresh := t.fresh(q); fresh && sameMoment(m.At, at) {
			counts = true
		}
	}
	if !counts {
		return // too old, or from before the last addition had mixed: for the log alone
	}
	voided := t.voidDoses(func(d Dose) bool { return d.Name == balanceDose || d.Name == neutralizerDose })
	unsafe := t.judge().Band == safety.Person
	if t.c.Hold != nil || t.c.OptedOut {
		if unsafe {
			t.handOver("unsafe_reading", safety.PersonSoon, true)
		}
		return
	}
	words := t.words()
	words.Person, words.Reading = inAlphabet(t.nameOf(a)), t.tongue().readings(known)
	t.sayWith("corrected", words)
	switch {
	case voided:
		t.doseAnew()
	case t.signal("readings"):
	case unsafe:
		t.handOver("unsafe_reading", safety.PersonSoon, true)
		t.c.Hold.Told = true
		t.say("water_trouble")
	case t.c.Service == nil && t.judge().Band != safety.Soak:
		t.say("corrected.out")
	}
}

// voidDoses takes advised doses back that have not gone in; true where the present step
// waits for one of them.
func (t *turn) voidDoses(which func(Dose) bool) (present bool) {
	_, s, ok := t.flow()
	if !ok {
		return false
	}
	for _, name := range sortedKeys(t.c.Service.Advised) {
		d := t.c.Service.Advised[name]
		if !which(d) {
			continue
		}
		delete(t.c.Service.Advised, name)
		present = present || name == s.Dose
		t.note("No longer advised: " + d.Measure + " of " + d.Product)
	}
	t.c.Service.Void = t.c.Service.Void || present && t.c.Hold != nil
	return present
}

// doseAnew goes through the present step again for its dose; where the water asks for
// another kind of step now, a person chooses it.
func (t *turn) doseAnew() {
	_, s, ok := t.flow()
	if !ok {
		return
	}
	if s.Dose == balanceDose && t.plan().kind != planAdd {
		t.handOver("corrected_reading", safety.PersonSoon, true)
		t.c.Hold.Told = true
		t.say("corrected.dose")
		return
	}
	t.enter(s.Name)
}
