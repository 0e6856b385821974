package console

import (
	"cmp"
	"errors"
	"net/url"
	"slices"
	"time"

	"github.com/gin-gonic/gin"

	"tubhand/internal/conversation"
	"tubhand/internal/safety"
	"tubhand/internal/store"
)

// The most that the board reads: the worst open cases are shown and all are counted, with every
// service whose next step or nudge is among the next that are due; of the others those that changed last.
const (
	mostCards     = 100
	mostComing    = 100
	mostShown     = 60 // open cases of those that are not among them
	mostHandovers = 500
	mostClosed    = 100
	mostFound     = 50
	mostFind      = 60 // characters of what is looked for
)

// How far before and after now the reminders of services under way are looked for.
const (
	comingFrom  = -24 * time.Hour
	comingUntil = 72 * time.Hour
)

// filter is one way to see less of the board.
type filter struct {
	Name, Words, To string
	On              bool
}

// boardFilters are the ways to see less, by name.
func boardFilters() []filter {
	return []filter{{Name: "", Words: "Everyone"}, {Name: "emergency", Words: "Emergencies"}, {Name: "free", Words: "Nobody has it"}, {Name: "mine", Words: "Mine"}}
}

func (k *card) passes(only string) bool {
	switch only {
	case "emergency":
		return k.Case != nil && k.Case.Severity == string(safety.Emergency)
	case "free":
		return k.Case != nil && k.Case.By == ""
	case "mine":
		return k.Mine
	}
	return true
}

// readBoard sorts every conversation into the one place where it belongs.
func (s *site) readBoard(g *gin.Context) (boardView, error) {
	view := s.Store.View(g.Request.Context(), s.Shop.Key)
	b := boardView{Find: clip(g.Query("find"), mostFind), Only: g.Query("only")}
	open, err := view.Handovers(false, mostHandovers)
	if err != nil {
		return b, err
	}
	b.count(open)
	cards, err := s.boardCards(view, &b, open)
	if err != nil {
		return b, err
	}
	closed, err := view.Handovers(true, mostClosed)
	if err != nil {
		return b, err
	}
	counts, err := view.Counts()
	if err != nil {
		return b, err
	}
	b.Total = counts.Conversations
	b.Filters = s.filters(&b)
	ended, me := s.endedToday(closed), s.me(g).Key
	for i := range cards {
		s.place(&b, &cards[i], ended, me)
	}
	slices.SortStableFunc(b.Needs, func(x, y card) int {
		return cmp.Or(cmp.Compare(y.rank, x.rank), x.waiting.Compare(y.waiting))
	})
	slices.SortStableFunc(b.Service, func(x, y card) int { return cmp.Or(later(x.next, y.next), x.waiting.Compare(y.waiting)) })
	slices.SortStableFunc(b.Quiet, func(x, y card) int { return x.waiting.Compare(y.waiting) })
	return b, nil
}

// count tells of all that are open, whatever is looked for.
func (b *boardView) count(open []conversation.Handover) {
	who, free := map[string]bool{}, map[string]bool{}
	for _, h := range open {
		who[h.Conversation] = true
		if h.By != "" {
			continue
		}
		free[h.Conversation] = true
		if safety.Severity(h.Severity).Rank() > safety.Severity(b.Worst).Rank() {
			b.Worst = h.Severity
		}
	}
	b.Cases, b.Unclaimed = len(who), len(free)
}

// later orders times; one that is not set comes last.
func later(a, b time.Time) int {
	if a.IsZero() != b.IsZero() {
		if a.IsZero() {
			return 1
		}
		return -1
	}
	return a.Compare(b)
}

// filters links to each way to see less, keeping what is looked for.
func (s *site) filters(b *boardView) []filter {
	list := boardFilters()
	for i := range list {
		q := url.Values{}
		if list[i].Name != "" {
			q.Set("only", list[i].Name)
		}
		if b.Find != "" {
			q.Set("find", b.Find)
		}
		list[i].On, list[i].To = list[i].Name == b.Only, s.base
		if len(q) > 0 {
			list[i].To += "?" + q.Encode()
		}
	}
	return list
}

// boardCards reads the conversations that the board shows: those that were looked for, or
// all that need somebody and those that changed last.
func (s *site) boardCards(view store.View, b *boardView, open []conversation.Handover) (cards []store.Card, err error) {
	if b.Find != "" {
		found, next, err := view.Find(b.Find, mostFound, "")
		if next != "" {
			b.More = s.base + "owners?" + url.Values{"find": {b.Find}}.Encode()
		}
		return found, err
	}
	if cards, err = view.Board(mostCards); err != nil {
		return nil, err
	}
	now := s.Clock.Now()
	coming, err := view.Upcoming(now.Add(comingFrom), now.Add(comingUntil), mostComing)
	if err != nil {
		return nil, err
	}
	have := make(map[string]bool, len(cards))
	for i := range cards {
		have[cards[i].State.ID] = true
	}
	for _, c := range coming {
		if id := c.State.ID; !have[id] && c.State.Service != nil {
			have[id] = true
			cards = append(cards, store.Card{State: c.State, NextDue: c.Reminder.Due})
		}
	}
	return withOpenCases(view, cards, have, open)
}

// withOpenCases adds the conversations that have one of the worst open handovers and changed too
// long ago to be among the cards.
func withOpenCases(view store.View, cards []store.Card, have map[string]bool, open []conversation.Handover) ([]store.Card, error) {
	read := 0
	for _, h := range open {
		if have[h.Conversation] {
			continue
		}
		if read++; read > mostShown {
			break
		}
		have[h.Conversation] = true
		conv, err := view.Conversation(h.Conversation)
		if errors.Is(err, store.ErrNotFound) {
			continue
		}
		if err != nil {
			return nil, err
		}
		cards = append(cards, store.Card{State: conv})
	}
	return cards, nil
}
