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

// wantedOf tells what runs for a service as package understand names it. Draining and
// refilling are one flow: its start asks whether the tub is empty already, which who asks
// for a drain need not be asked.
func wantedOf(service string) wanted {
	switch service {
	case "drain":
		return wanted{"drain_refill", "volume"}
	case "refill":
		return wanted{"drain_refill", ""}
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
	t.c.Doubts = 0
	t.c.Service = &Service{ID: t.id(), Flow: f.Name, Started: t.now, Since: t.now}
	t.enter(state)
}

// startable are the services that a word can start, as package understand names them, in
// the menu's order.
var startable = [...]string{"flush_plumbing", "test_water", "clean_filters", "drain", "refill", "shock"}

// startWord takes the menu's own words, and a few beside them, for what they start: a
// bare "test" says little to a reader of free text. Only where nothing is running; what
// is a danger or an opt-out stays one.
func (t *turn) startWord(m *understand.Meaning) {
	if t.c.Service != nil || m.Severity != safety.NoSeverity || m.Intent == understand.StopMessages {
		return
	}
	said := bare(t.ev.Text)
	for _, language := range t.w.words.Languages() {
		for _, service := range startable {
			words, _ := t.w.words.Say(language, wording.Common, "choices.start_"+service, &wording.Words{})
			for word := range strings.SplitSeq(words, ",") {
				if said != "" && strings.TrimSpace(word) == said {
					*m = understand.Meaning{Intent: understand.StartService, Service: service, Language: m.Language, Hazard: m.Hazard, Severity: m.Severity}
					if m.Language == "" {
						m.Language = language
					}
					return
				}
			}
		}
	}
}

// unaccented is for owners who write the accents that our own texts do without.
var unaccented = strings.NewReplacer("á", "a", "é", "e", "í", "i", "ó", "o", "ú", "u")

// bare is a short text in small letters, without what surrounds its words.
func bare(text string) string {
	return strings.Join(strings.Fields(unaccented.Replace(strings.ToLower(strings.Trim(text, " .!?¡¿\"'\n\t")))), " ")
}
