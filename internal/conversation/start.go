package conversation

import (
	"strings"

	"tubhand/internal/flow"
	"tubhand/internal/safety"
	"tubhand/internal/understand"
	"tubhand/internal/wording"
)

// wanted is where a service that owners ask for begins; state "" is the flow's start.
type wanted struct{ flow, state string }

// wantedOf tells what runs for a service as package understand or the menu names it.
// Draining and refilling are one flow: its start asks whether the tub is empty already, which
// who asks for a drain need not be asked; so it is with leaving and coming back.
func wantedOf(service string) wanted {
	switch service {
	case "drain":
		return wanted{"drain_refill", "volume"}
	case "refill":
		return wanted{"drain_refill", ""}
	case "leaving":
		return wanted{"away", "how_long_away"}
	case "home_again":
		return wanted{"away", "running_well"}
	}
	return wanted{service, ""}
}

// wantedFlow finds the flow for a service that owners ask for.
func (t *turn) wantedFlow(service string) (f *flow.Flow, state string, ok bool) {
	to := wantedOf(service)
	f, ok = t.w.flows.Flow(to.flow)
	if !ok || f.Kind != flow.ServiceKind {
		return nil, "", false
	}
	if to.state == "" {
		to.state = f.Start
	}
	_, ok = f.State(to.state)
	return f, to.state, ok
}

// begin starts a service, or says what can be started. What no flow does is a person's.
func (t *turn) begin(m understand.Meaning) bool {
	running := t.c.Service
	if m.Intent != understand.StartService {
		if running == nil && t.c.LastOut.IsZero() {
			t.say("menu")
			return true
		}
		return false
	}
	if m.Service == moreServices {
		t.say("menu.more")
		return true
	}
	f, state, ok := t.wantedFlow(m.Service)
	if ok && t.leaveTrouble() {
		running = nil
	}
	switch {
	case running != nil && (m.Service == "" || running.Caller != nil || ok && f.Name == running.Flow):
		t.say("started_already")
		t.again()
	case running != nil && ok:
		t.say("finish_first")
		t.again()
	case m.Service == "":
		t.say("menu")
	case !ok:
		t.handOver("asked_for_"+m.Service, safety.Technician, false)
		t.say("not_yet_built")
	default:
		t.startAt(f, state)
	}
	return true
}

// start begins a run of the flow.
func (t *turn) start(f *flow.Flow) { t.startAt(f, f.Start) }

func (t *turn) startAt(f *flow.Flow, state string) {
	t.c.Doubts, t.c.Calendar.Open, t.c.Calendar.Stock = 0, nil, nil
	t.c.Service = &Service{ID: t.id(), Flow: f.Name, Started: t.now, Since: t.now}
	t.enter(state)
	t.offerMorning(f)
}

// startable are the services that a word can start, in the menus' order; what the first
// menu has no room for is in the second.
var startable = [...]string{
	"flush_plumbing", "test_water", "clean_filters", "drain", "refill", "shock",
	"new_water", "sanitizer_drops", "high_cyanuric", "ph_drift", "rental_turnover", "power_cut",
	"away", "home_again", "close_down", "open_up", "switch_sanitizer", "salt_mineral", "new_owner",
}

// moreServices stands for the second menu.
const moreServices = "more"

// startWord takes the menus' own words, and a few beside them, for what they start: a bare
// "test" says little to a reader of free text. What package understand has no name for is
// found in sentences too (wanted.go). Only where nothing is running but a fault that was
// not answered; what is a danger or an opt-out stays one.
func (t *turn) startWord(m *understand.Meaning) {
	if l, ok := t.saidOneOf("choices.more_words"); ok && t.c.Service == nil && m.Severity == safety.NoSeverity {
		t.readAs(m, understand.StartService, moreServices, l) // also where a bare "more" was read as enough of it
		return
	}
	if !t.mayStart(m) || t.c.OptedOut {
		return
	}
	service, language := "", "" // an exact word is none of the legal ones, whatever it was read as
	for _, name := range startable {
		if l, ok := t.saidOneOf("choices.start_" + name); ok {
			service, language = name, l
		}
	}
	if sign := wantedSign(t.ev.Text); service == "" && t.c.Service == nil && (!strong(m) || hardly(m, sign)) {
		service = sign
	}
	if service != "" {
		t.readAs(m, understand.StartService, service, language)
	}
}

// mayStart tells whether a word may start something: nothing is running, or a fault of its
// own that asks something else.
func (t *turn) mayStart(m *understand.Meaning) bool {
	fault := m.Severity == safety.Technician && m.Hazard == safety.EquipmentFault // "the bromine won't hold" is none
	if m.Severity != safety.NoSeverity && !fault {
		return false
	}
	if t.c.Service == nil {
		return true
	}
	f, s, ok := t.flow()
	return ok && f.Kind == flow.TroubleKind && t.c.Service.Caller == nil && m.Choice == "" && (s.Ask.Done || s.Ask.YesNo || len(s.Ask.Choice) > 0)
}

// saidOneOf tells whether the text is one of the words under a key, and in which language.
func (t *turn) saidOneOf(key string) (language string, ok bool) {
	said := bare(t.ev.Text)
	for _, language := range t.w.words.Languages() {
		words, _ := t.w.words.Say(language, wording.Common, key, &wording.Words{})
		for word := range strings.SplitSeq(words, ",") {
			if said != "" && strings.TrimSpace(word) == said {
				return language, true
			}
		}
	}
	return "", false
}

// readAs makes a text mean something else than it was read as.
func (t *turn) readAs(m *understand.Meaning, intent understand.Intent, service, language string) {
	*m = understand.Meaning{Intent: intent, Service: service, Volume: plainVolume(m), Language: m.Language, Hazard: safety.NoHazard, Severity: safety.NoSeverity}
	if m.Language == "" {
		m.Language = language
	}
}

// plainVolume is a volume that was told in passing and needs no asking back.
func plainVolume(m *understand.Meaning) *understand.Volume {
	if m.Clarify {
		return nil
	}
	return m.Volume
}

// unaccented is for owners who write the accents that our own texts do without.
var unaccented = strings.NewReplacer("\u2019", "'", "á", "a", "é", "e", "í", "i", "ó", "o", "ú", "u")

// bare is a short text in small letters, without what surrounds its words.
func bare(text string) string {
	return strings.Join(strings.Fields(unaccented.Replace(strings.ToLower(strings.Trim(text, " .!?¡¿\"'\n\t")))), " ")
}
