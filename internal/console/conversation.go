package console

import (
	"cmp"
	"errors"
	"net/http"
	"net/url"
	"slices"
	"time"

	"github.com/gin-gonic/gin"

	"tubhand/internal/conversation"
	"tubhand/internal/flow"
	"tubhand/internal/staff"
	"tubhand/internal/store"
)

// The most that a conversation's page shows.
const (
	mostLines   = 300
	mostEntries = 400 // of the log, for the charts
	mostInLog   = 60  // of those, as a list
)

// talkView is one conversation.
type talkView struct {
	ID, Name, Number string
	Lines            []lineView
	Cases            []caseView
	Place            place
	Running          bool
	Held             string // who has taken the conversation
	HeldSince        moment
	Waiting          bool // held for a person, and nobody has taken it
	OptedOut         bool
	Danger           string
	Tub              []pair
	Owner            []pair
	Facts            []pair
	Readings         []readingView
	Charts           []chartView
	Doses            []doseView
	Log              []entryView
	Timers           []timerView
	States           []stateView // where a hand-back can go on
	Diagram          *diagramView
	Starts           []startView
	Edits            []editView // facts of the tub that can be set
	Languages        []choiceView
	Mine             bool // whoever looks has taken the conversation
	May              bool // whoever looks may act
	ReplyMost        int
	Plain, Double    string // characters that take one or two units in a text, for the counter
}

// choiceView is one of several values to choose from.
type choiceView struct {
	Value, Words string
	Now          bool
}

// editView is a fact of the tub as a form has it.
type editView struct {
	Name, Label, Unit, Value string
	Choices                  []choiceView
}

// pair is a fact with its name.
type pair struct{ Name, Value string }

// stateView is a state of the running flow.
type stateView struct {
	Name, Words string
	Now         bool
}

// startView is a service that can be started.
type startView struct{ Name, Title string }

func (s *site) conversation(g *gin.Context) {
	id := g.Query("with")
	page, err := s.readTalk(g, id)
	if errors.Is(err, store.ErrNotFound) {
		s.problem(g, http.StatusNotFound, "There is no conversation with that number at this shop.")
		return
	}
	if err != nil {
		s.failed(g, "read a conversation", err)
		return
	}
	f := s.frame(g, page.Name, page)
	f.Live += "?with=" + url.QueryEscape(page.ID)
	f.Sheet, f.Extra = s.Asset(s.base, "conversation.css"), s.Asset(s.base, "conversation.js")
	s.show(g, http.StatusOK, conversationPage, f)
}

func (s *site) readTalk(g *gin.Context, id string) (talkView, error) {
	view := s.Store.View(g.Request.Context(), s.Shop.Key)
	conv, err := view.Conversation(id)
	if err != nil {
		return talkView{}, err
	}
	lines, err := view.Transcript(id, mostLines)
	if err != nil {
		return talkView{}, err
	}
	entries, err := view.Log(id, mostEntries)
	if err != nil {
		return talkView{}, err
	}
	reminders, err := view.Reminders(id)
	if err != nil {
		return talkView{}, err
	}
	page := s.talk(&conv)
	page.Lines = s.lines(lines, &conv, entries)
	page.Charts = s.charts(entries)
	page.Log = s.entries(entries[max(0, len(entries)-mostInLog):])
	page.Timers = s.timers(&conv, reminders)
	page.May = s.mayAct(g)
	page.Mine = conv.Hold != nil && conv.Hold.By != "" && conv.Hold.By == s.me(g).Key
	return page, nil
}

func (s *site) talk(conv *conversation.Conversation) talkView {
	p := talkView{
		ID: conv.ID, Name: nameOf(conv), Number: numberWords(conv.ID), OptedOut: conv.OptedOut,
		Tub: s.tubFacts(&conv.Tub), Owner: s.ownerFacts(conv), Doses: s.doses(conv), Readings: s.readings(&conv.Tub), Edits: edits(&conv.Tub, s.Shop.Flush.Name),
		Languages: languages(conv.Owner.Language), Diagram: s.diagram(conv),
		ReplyMost: mostReply, Plain: gsmPlain, Double: gsmDouble,
	}
	p.Place, p.Running = s.placeOf(conv)
	if h := conv.Hold; h != nil {
		p.HeldSince, p.Waiting = s.moment(h.Since), h.By == ""
		if h.By != "" {
			p.Held = s.staffName(h.By)
		}
	}
	if d := conv.Danger; d != nil && s.Clock.Now().Sub(d.At) < 24*time.Hour {
		p.Danger = plain(d.Hazard) + ", " + s.moment(d.At).Short
	}
	for i := range conv.Open {
		p.Cases = append(p.Cases, s.caseView(&conv.Open[i]))
	}
	slices.SortStableFunc(p.Cases, func(x, y caseView) int { return cmp.Compare(y.rank, x.rank) })
	if conv.Service != nil {
		p.Facts = s.serviceFacts(conv.Service)
		p.States = s.states(conv.Service)
	} else {
		p.Starts = s.starts()
	}
	return p
}

// mayAct tells whether whoever looks may do more than that.
func (s *site) mayAct(g *gin.Context) bool {
	if s.Desk == nil {
		return true
	}
	me, ok := session(g)
	return ok && me.Role.May(staff.Member)
}

// edits are the facts of the tub that staff can set. What is left of the flush product is
// known only where somebody has said it.
func edits(t *conversation.Tub, flush string) []editView {
	jar := ""
	if left, ok := t.JarSpoons[flush]; ok {
		jar = number(left)
	}
	value := func(x float64) string {
		if x <= 0 {
			return ""
		}
		return number(x)
	}
	return []editView{
		{Name: conversation.FactVolume, Label: "Volume", Unit: "US gal", Value: value(t.VolumeUSGal)},
		{Name: conversation.FactSanitizer, Label: "Sanitizer", Choices: []choiceView{
			{"", "not known", t.Sanitizer == ""}, {"chlorine", "Chlorine", t.Sanitizer == "chlorine"}, {"bromine", "Bromine", t.Sanitizer == "bromine"},
		}},
		{Name: conversation.FactHeater, Label: "Heater", Unit: "kW", Value: value(t.HeaterKW)},
		{Name: conversation.FactHose, Label: "Hose", Unit: "gal/min", Value: value(t.HoseGPM)},
		{Name: conversation.FactPump, Label: "Drain pump", Unit: "gal/h", Value: value(t.PumpGPH)},
		{Name: conversation.FactBathers, Label: "Bathers", Unit: "a day", Value: value(t.Bathers)},
		{Name: conversation.FactJar, Label: "Left of " + flush, Unit: "level tsp", Value: jar},
	}
}

// languages are those that owners are answered in.
func languages(now string) []choiceView {
	var out []choiceView
	for _, code := range []string{"en", "es"} {
		out = append(out, choiceView{Value: code, Words: languageWords(code), Now: code == now})
	}
	return out
}

func (s *site) states(service *conversation.Service) []stateView {
	f, ok := s.Flows.Flow(service.Flow)
	if !ok {
		return nil
	}
	var out []stateView
	for _, state := range f.States {
		if !state.End {
			out = append(out, stateView{Name: state.Name, Words: plain(state.Name), Now: state.Name == service.State})
		}
	}
	return out
}

func (s *site) starts() []startView {
	var out []startView
	for _, name := range s.Flows.Names() {
		if f, ok := s.Flows.Flow(name); ok && f.Kind == flow.ServiceKind {
			out = append(out, startView{Name: name, Title: f.Title})
		}
	}
	return out
}
