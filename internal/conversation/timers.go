package conversation

import (
	"slices"
	"strings"
	"time"

	"tubhand/internal/flow"
	"tubhand/internal/safety"
	"tubhand/internal/tub"
)

// quiet is the name under which the silence clock's reminder is kept.
const quiet = "silence"

// What is assumed of a tub nobody has described, only to choose when to text; never to
// dose. Common practice, no source, but for the hose: about 6 gal/min from a 1/2 inch
// hose of 100 ft at 40 psi (Home Power, Useful Conversions and Calculations).
const (
	usualPumpGPH      = 2000.0 // a submersible utility pump: a mid-size tub in about 10 minutes
	usualDrainHoseGPH = 360.0  // the tub's own drain through a garden hose
	usualHoseGPM      = 6.0
	usualHeaterKW     = 5.5
	usualFillF        = 60.0
	soakF             = 100.0
	shareAboveJets    = 0.6 // of the water stands above the lowest jet
)

// setTimers sets a state's timers, counted from its entry or from a stamp.
func (t *turn) setTimers(s *flow.State) {
	for _, timer := range s.Timers {
		from := t.now
		if stamp, ok := t.c.Service.Stamps[timer.From]; timer.From != "" && ok {
			from = stamp
		}
		due := from.Add(t.duration(timer.After))
		if due.Before(t.now) {
			due = t.now
		}
		t.remind(timerKey(t.c.Service.Flow, s.Name, timer.Name), due)
	}
}

func timerKey(flowName, state, timer string) string {
	return "timer:" + flowName + "/" + state + "/" + timer
}

// duration works out a timer's time: a Go duration, or the time a job takes on this tub.
func (t *turn) duration(after string) time.Duration {
	if d, err := time.ParseDuration(after); err == nil {
		return d
	}
	gallons := t.c.Tub.VolumeUSGal
	if gallons == 0 {
		gallons = 500 // a large tub: later is better than too early
	}
	var d time.Duration
	var err error
	switch after {
	case "overnight":
		return t.overnight()
	case "part_drain_time":
		d, err = tub.DrainTime(gallons*t.share(), t.pumpGPH())
	case "part_fill_time":
		d, err = tub.FillTime(gallons*t.share(), or(t.c.Tub.HoseGPM, usualHoseGPM))
	case "drain_time":
		d, err = tub.DrainTime(gallons, t.pumpGPH())
	case "drain_to_jets_time":
		d, err = tub.DrainTime(gallons*shareAboveJets, t.pumpGPH())
	case "fill_time":
		d, err = tub.FillTime(gallons, or(t.c.Tub.HoseGPM, usualHoseGPM))
	case "heat_time":
		d, err = tub.HeatTime(gallons, t.fillTemperature(), soakF, or(t.c.Tub.HeaterKW, usualHeaterKW))
	}
	if err != nil || d <= 0 {
		return time.Hour
	}
	return d.Round(time.Minute)
}

func (t *turn) pumpGPH() float64 {
	if t.c.Service.Facts["drain_by"] == "drain_hose" {
		return usualDrainHoseGPH
	}
	return or(t.c.Tub.PumpGPH, usualPumpGPH)
}

func (t *turn) fillTemperature() float64 {
	if f, ok := (view{t}).Number("water_temp_f"); ok && f < soakF {
		return f
	}
	return usualFillF
}

// or gives the value, or the usual one where it is not known.
func or[T float64 | time.Duration](value, usual T) T {
	if value > 0 {
		return value
	}
	return usual
}

// remind sets a reminder under a key, in place of one that is pending.
func (t *turn) remind(key string, due time.Time) {
	t.cancel(key)
	s := t.c.Service
	put(&s.Timers, key, t.set(Reminder{Name: key, Due: due, Service: s.ID, State: s.State}))
}

// cancel drops the reminder that is pending under a key.
func (t *turn) cancel(key string) {
	if p, ok := t.c.Service.Timers[key]; ok {
		delete(t.c.Service.Timers, key)
		t.takeBack(p)
	}
}

// set has a reminder stored with the turn.
func (t *turn) set(r Reminder) Pending {
	r.ID, r.Conversation = t.id(), t.c.ID
	t.fx.Remind = append(t.fx.Remind, r)
	return Pending{ID: r.ID, Due: r.Due}
}

// takeBack drops a reminder from the store, or from this very turn's effects.
func (t *turn) takeBack(p Pending) {
	before := len(t.fx.Remind)
	t.fx.Remind = slices.DeleteFunc(t.fx.Remind, func(r Reminder) bool { return r.ID == p.ID })
	if len(t.fx.Remind) == before && p.ID != "" {
		t.fx.Cancel = append(t.fx.Cancel, p.ID)
	}
}

func (t *turn) dropTimers() {
	if t.c.Service == nil {
		return
	}
	for _, key := range sortedKeys(t.c.Service.Timers) {
		t.cancel(key)
	}
}

func (t *turn) dropTimersOf(flowName, state string) {
	prefix := timerKey(flowName, state, "")
	for _, key := range sortedKeys(t.c.Service.Timers) {
		if strings.HasPrefix(key, prefix) {
			t.cancel(key)
		}
	}
}

// nextTimer is the end of the running wait; zero when nothing is waited for.
func (t *turn) nextTimer() time.Time {
	var next time.Time
	if t.c.Service == nil {
		return next
	}
	for key, p := range t.c.Service.Timers {
		if key != quiet && (next.IsZero() || p.Due.Before(next)) {
			next = p.Due
		}
	}
	return next
}

// reminderDue handles a timer that has run out. One that was replaced or belongs to a
// service that is over means nothing any more.
func (t *turn) reminderDue() {
	if strings.HasPrefix(t.ev.Reminder.Name, pageReminder) {
		t.pageDue()
		return
	}
	if strings.HasPrefix(t.ev.Reminder.Name, seasonal) {
		t.seasonalDue()
		return
	}
	s := t.c.Service
	r := t.ev.Reminder
	if s == nil || s.Timers[r.Name].ID != r.ID {
		return
	}
	delete(s.Timers, r.Name)
	t.class = ClassReminder
	if r.Name == quiet {
		t.silent()
		return
	}
	if t.c.OptedOut || t.c.Hold != nil || s.Caller != nil && s.Caller.Case != "" {
		t.note("A wait is over while the service is on hold: " + strings.TrimPrefix(r.Name, "timer:"))
		return
	}
	t.alive = true
	parts := strings.Split(strings.TrimPrefix(r.Name, "timer:"), "/")
	if s.Caller != nil && parts[0] == s.Caller.Flow {
		t.popCaller() // the wait that was going on meanwhile matters more
	}
	_, state, ok := t.flow()
	if !ok || len(parts) != 3 || parts[1] != state.Name {
		return
	}
	for i := range state.Timers {
		timer := &state.Timers[i]
		if timer.Name != parts[2] {
			continue
		}
		if tr, ok := timer.Due(view{t}); ok {
			t.apply(tr)
		}
		return
	}
}

// reminderDead opens a case in the place of a reminder that could not be handled: the
// owner waits for it, and nobody else would know. It does as little as can be, since
// whatever broke off may do so again.
func (t *turn) reminderDead() {
	r := t.ev.Reminder
	if s := t.c.Service; s != nil && s.Timers[r.Name].ID == r.ID {
		delete(s.Timers, r.Name)
	}
	t.note("A reminder could not be handled and was given up: " + r.Name)
	t.handOver("reminder_failed", safety.PersonSoon, false)
}

// keepWatch keeps the silence clock: whenever something happened it starts anew, at
// the end of the running wait if there is one.
func (t *turn) keepWatch() {
	s := t.c.Service
	if s == nil {
		return
	}
	if t.c.Hold != nil || t.c.OptedOut {
		t.cancel(quiet)
		return
	}
	if !t.alive {
		return
	}
	s.Nudged = 0
	s.Quiet = t.now
	for key, p := range s.Timers {
		if key != quiet && p.Due.After(s.Quiet) {
			s.Quiet = p.Due
		}
	}
	t.nextSilence()
}

// nextSilence sets the next nudge, or the moment at which a person looks in.
func (t *turn) nextSilence() {
	f, state, ok := t.flow()
	if !ok {
		return
	}
	policy := f.SilenceOf(state)
	if policy == nil {
		return
	}
	s := t.c.Service
	if !t.mayNudge() {
		s.Nudged = len(policy.Nudge) // asked often enough: a person is next
	}
	if s.Nudged < len(policy.Nudge) && !s.Paused {
		t.remind(quiet, t.decentHour(s.Quiet.Add(time.Duration(policy.Nudge[s.Nudged]))))
		return
	}
	t.remind(quiet, t.decentHour(s.Quiet.Add(time.Duration(policy.Person))))
}

// silent nudges an owner who has not answered; after the last nudge a person looks in.
func (t *turn) silent() {
	if t.c.Hold != nil || t.c.OptedOut {
		return
	}
	f, state, ok := t.flow()
	if !ok {
		return
	}
	if t.ev.Kind == ReminderDue && t.decentHour(t.now).After(t.now) {
		t.remind(quiet, t.decentHour(t.now)) // it comes late, in the night: the server was away, or a clock was set
		return
	}
	policy := f.SilenceOf(state)
	s := t.c.Service
	if s.Nudged < len(policy.Nudge) && !s.Paused {
		s.Nudged++
		t.nudged()
		key := state.Name + ".nudge"
		if !t.w.words.Has(s.Flow, key) {
			key = "nudge"
		}
		t.say(key)
		t.nextSilence()
		return
	}
	risk := riskOf(t.physical())
	t.handOver(policy.Cause, safety.Severity(policy.Severity), risk != noRisk)
	if h := t.c.Hold; h != nil {
		h.Quiet = true
	}
	t.say("silence" + risk)
}

// What could go wrong while nobody answers, as the ends of wording keys.
const (
	noRisk      = ""
	powerRisk   = ".power"   // a pump that may run dry
	productRisk = ".product" // somebody may get in
	emptyRisk   = ".empty"   // frost, and an owner who switches on: nobody knows the weather there
)

// riskOf tells what could go wrong in the state that the tub was left in. A service that
// falls silent there waits for a person.
func riskOf(p flow.Tub) string {
	switch {
	case p.Power == "on" && p.Water != "full":
		return powerRisk
	case p.Product == "in" && p.Water == "full":
		return productRisk
	case p.Water != "full":
		return emptyRisk
	}
	return noRisk
}
