package console

import (
	"cmp"
	"errors"
	"net/http"
	"slices"
	"time"

	"github.com/gin-gonic/gin"

	"tubhand/internal/conversation"
	"tubhand/internal/flow"
	"tubhand/internal/store"
)

// The most that a conversation's page shows.
const (
	mostLines   = 300
	mostEntries = 100
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
	Log              []entryView
	Timers           []timerView
	States           []stateView // where a hand-back can go on
	Starts           []startView
	ReplyMost        int
	Token            string
	Plain, Double    string // characters that take one or two units in a text, for the counter
}

// pair is a fact with its name.
type pair struct{ Name, Value string }

// timerView is a pending reminder.
type timerView struct {
	ID, What string
	Due      moment
}

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
	s.show(g, http.StatusOK, conversationPage, s.frame(g, page.Name, page))
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
	page.Lines = s.lines(lines, &conv)
	page.Log = s.entries(entries)
	page.Timers = s.timers(reminders)
	page.Token = newToken()
	return page, nil
}

func (s *site) talk(conv *conversation.Conversation) talkView {
	p := talkView{
		ID: conv.ID, Name: nameOf(conv), Number: numberWords(conv.ID), OptedOut: conv.OptedOut,
		Tub: s.tubFacts(&conv.Tub), Owner: s.ownerFacts(conv), Readings: s.readings(&conv.Tub),
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

func (s *site) timers(reminders []conversation.Reminder) []timerView {
	out := make([]timerView, 0, len(reminders))
	for _, r := range reminders {
		out = append(out, timerView{ID: r.ID, What: reminderWords(r.Name), Due: s.moment(r.Due)})
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
