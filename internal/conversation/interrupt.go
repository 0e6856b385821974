package conversation

import (
	"time"

	"tubhand/internal/safety"
	"tubhand/internal/understand"
)

// interrupt answers what an owner can say in any state and that leaves the service
// where it is.
func (t *turn) interrupt(m understand.Meaning) bool {
	switch m.Intent {
	case understand.Help:
		t.say("help")
	case understand.ResumeMessages:
		t.optedInAnyway()
	case understand.TalkToHuman:
		t.askForPerson()
	case understand.Thanks:
		t.say("thanks")
	case understand.WrongNumber:
		t.say("wrong_number")
	case understand.Abuse:
		t.say("abuse")
	case understand.HowLongLeft, understand.QuestionWhen:
		t.howLong()
	case understand.QuestionWhy:
		t.why()
	case understand.QuestionDose:
		t.howMuch()
	case understand.Undo:
		t.goBack()
	case understand.NotYet:
		t.notYet()
	case understand.MoreTime:
		t.moreTime()
	case understand.LanguageSwitch:
		t.switchLanguage(m)
	default:
		return t.trouble(m)
	}
	return true
}

// trouble starts the flow for a trouble where none is under way, and hands over a fault
// that no flow has an answer for.
func (t *turn) trouble(m understand.Meaning) bool {
	if t.startTrouble(m) {
		return true
	}
	key, severity := "trouble", safety.Technician
	switch m.Intent {
	case understand.GFCITrips:
		key, severity = "gfci_trips", safety.PersonSoon
	case understand.ErrorCodeShown, understand.HeaterNotHeating, understand.Leak, understand.LowFlow, understand.Airlock:
		key = "fault"
	case understand.CloudyWater, understand.GreenWater, understand.Smell, understand.Overdosed, understand.WrongProduct:
		key, severity = "water_trouble", safety.PersonSoon
	case understand.FoamTooMuch, understand.ResidueHardToWipe, understand.Scale, understand.ProductRanOut,
		understand.CannotFindPart, understand.ScheduleLater:
	default:
		return t.mildDanger(m)
	}
	t.handOver(string(m.Intent), severity, false)
	t.say(key)
	return true
}

// mildDanger answers a hazard that is a technician's and that no intent has an answer
// for: what to leave alone, what to note down.
func (t *turn) mildDanger(m understand.Meaning) bool {
	if m.Severity != safety.Technician {
		return false
	}
	text, again := safety.Response(m.Hazard, m.Severity, t.language(), safety.LinesFor(t.c.Owner.Region))
	if t.openCase(string(m.Hazard)) != nil {
		text = again
	}
	t.handOver(string(m.Hazard), safety.Technician, false)
	t.says = append(t.says, text)
	return true
}

func (t *turn) askForPerson() {
	key := "person"
	if t.openCase("asked_for_person") != nil {
		key = "person.repeat"
	}
	t.handOver("asked_for_person", safety.PersonSoon, false)
	t.say(key)
}

func (t *turn) howLong() {
	if t.c.Service == nil {
		t.say("how_long.all")
		return
	}
	if t.nextTimer().IsZero() {
		t.say("how_long.work")
		return
	}
	t.say("how_long")
}

// why gives the reason for the present step.
func (t *turn) why() {
	if t.c.Service != nil {
		if key := t.c.Service.State + ".why"; t.w.words.Has(t.c.Service.Flow, key) {
			t.say(key)
			return
		}
	}
	t.say("why")
}

// howMuch repeats the dose that stands. It never works out a new one, and never for
// an unknown volume.
func (t *turn) howMuch() {
	words := t.words()
	key := "how_much.none"
	s := t.c.Service
	switch {
	case s != nil && t.w.words.Has(s.Flow, s.State+".how_much"):
		key = s.State + ".how_much" // a label's to say, with no dose of ours
	case t.c.Tub.VolumeUSGal == 0:
		key = "how_much.volume"
	case s == nil:
	case len(s.Advised) > 0:
		key = "how_much"
		words.Product, words.Dose, _ = t.doseWords(latest(s.Advised))
	case len(s.Added) > 0:
		key = "how_much.in"
		words.Product, words.Dose, _ = t.doseWords(latest(s.Added))
	}
	t.sayWith(key, words)
}

// latest gives the newest dose.
func latest(doses map[string]Dose) *Dose {
	var newest Dose
	for _, d := range doses {
		if d.At.After(newest.At) || d.At.Equal(newest.At) && d.Name > newest.Name {
			newest = d
		}
	}
	return &newest
}

func (t *turn) goBack() {
	_, s, ok := t.flow()
	if !ok {
		t.say("nothing_running")
		return
	}
	if s.Back == "" {
		t.say("back.no")
		t.again()
		return
	}
	t.say("back")
	t.enter(s.Back)
}

func (t *turn) notYet() {
	if !t.nextTimer().IsZero() {
		t.say("not_yet.wait")
		return
	}
	if t.c.Service == nil {
		t.say("menu.again")
		return
	}
	t.say("not_yet")
}

// moreTime keeps the nudges away; the time at which a person looks in stays.
func (t *turn) moreTime() {
	if t.c.Service == nil {
		t.say("menu.again")
		return
	}
	t.c.Service.Paused = true
	t.say("more_time")
}

func (t *turn) switchLanguage(m understand.Meaning) {
	wanted := m.Language
	if wanted == "" || wanted == t.language() {
		wanted = map[string]string{"en": "es", "es": "en"}[t.language()]
	}
	if !t.speaks(wanted) {
		t.handOver("language", safety.Technician, false)
		t.say("language_no")
		return
	}
	t.c.Owner.Language = wanted
	if t.c.Service == nil {
		t.say("menu")
		return
	}
	t.again()
}

// remindsOfHelp is how often an owner who writes on after an emergency is reminded whom to
// call while no person of the shop has answered. Our decision.
const remindsOfHelp = 2 * time.Minute

// optOut stops everything but one confirmation. A tub left at a dangerous moment goes
// to a person, who phones.
func (t *turn) optOut() {
	if t.c.OptedOut {
		return
	}
	tub := t.physical()
	if t.c.Service != nil && (tub.Product == "in" || tub.Power == "on" && tub.Water != "full" || tub.Water == "empty" || tub.Water == "falling") {
		t.handOver("opted_out_mid_service", safety.PersonSoon, true)
	}
	t.dropTimers()
	t.fx.DropUnsent = true
	t.stopped()
	t.says = nil
	t.class = ClassOptOut
	if t.byMail() {
		t.say("opt_out.mail")
		return
	}
	t.say("opt_out")
}

// optedInAnyway answers START from an owner who never opted out: it is an agreement, and
// they want something.
func (t *turn) optedInAnyway() {
	t.agreed(Agreement{How: Keyword, For: ForReplies, Given: true, Wording: t.ev.Text})
	if t.c.Service == nil {
		t.say("menu")
		return
	}
	t.again()
}

// whileOptedOut answers nothing but the wish to be back. What else is written is kept
// for staff.
func (t *turn) whileOptedOut() {
	if t.heard.Intent == understand.ResumeMessages {
		t.resumed()
		t.say("opt_in")
		if t.c.Service != nil && t.c.Hold == nil {
			t.enter(t.c.Service.State)
		}
		return
	}
	if t.heard.Severity == safety.PersonSoon {
		t.handOver(string(t.heard.Hazard), safety.PersonSoon, true)
	}
}

// whileHeld stays quiet for the person who has the conversation; until one has, the
// owner is told once, and after an emergency again where they keep writing: nobody in
// fear is left without a word, nor left waiting for us.
func (t *turn) whileHeld() {
	if t.c.Hold.By != "" {
		return
	}
	if t.dangerLately() {
		if t.now.Sub(t.c.LastOut) >= remindsOfHelp {
			t.say("held.emergency")
		}
		return
	}
	if t.c.Hold.Told {
		return
	}
	t.c.Hold.Told = true
	if t.c.Hold.Quiet {
		t.backFromQuiet()
		return
	}
	t.say("person.held")
}

// dangerLately tells whether an emergency was told of within a day.
func (t *turn) dangerLately() bool {
	d := t.c.Danger
	return d != nil && d.Severity == string(safety.Emergency) && t.now.Sub(d.At) < dangerRepeats
}

// backFromQuiet answers an owner who writes again after a silence that holds the
// service: first what keeps the tub and everyone unharmed, then that a person goes on.
func (t *turn) backFromQuiet() {
	if h := t.openByID(t.c.Hold.Handover); h != nil {
		t.handOver(h.Cause, safety.Severity(h.Severity), true) // who takes it sees that they are back
	}
	t.say("quiet_over" + riskOf(t.physical()))
}
