package console

import (
	"net/http"
	"time"

	"github.com/gin-gonic/gin"

	"tubhand/internal/conversation"
	"tubhand/internal/safety"
	"tubhand/internal/store"
)

// boardView is the whole board.
type boardView struct {
	Needs, Service, Quiet, Done, Rest []card
	Worst                             string // the worst severity that nobody has claimed
	Cases, Unclaimed                  int    // owners who need a person, also those that are not shown; and how many of them nobody has claimed
	Find, Only                        string
	Filters                           []filter
	More                              string // where the owners that were looked for go on; "" when all are here
	Total                             int64
}

// card is one conversation at a glance.
type card struct {
	ID, Name, Number string
	Place            place
	Running          bool
	Case             *caseView
	Quiet            string // how long the owner has said nothing
	Next             string // what happens next by itself, and when
	NextAt           moment
	Last             string // the last words, cut short
	LastBy           string
	Ended            string // why it is under "done today"
	Held             string // who keeps the assistant quiet
	Mine             bool   // whoever looks keeps it, or has its case
	OptedOut         bool

	rank    int
	waiting time.Time
	next    time.Time
}

// Hidden is how many who need a person are not among those shown.
func (b boardView) Hidden() int {
	if b.Find != "" || b.Only != "" {
		return 0
	}
	return max(0, b.Cases-len(b.Needs))
}

func (s *site) board(g *gin.Context) {
	view, err := s.readBoard(g)
	if err != nil {
		s.failed(g, "read the board", err)
		return
	}
	title := "Board"
	if n := view.Cases; n > 0 {
		title = plural(n, "person needed", "people needed")
	}
	if view.Worst == string(safety.Emergency) {
		title = "EMERGENCY: " + title
	}
	f := s.frame(g, title, view)
	f.Extra, f.Sheet = s.Asset(s.base, "board.js"), s.Asset(s.base, "owners.css")
	s.show(g, http.StatusOK, boardPage, f)
}

// endedToday gives, by conversation, how a handover ended that was closed today.
func (s *site) endedToday(closed []conversation.Handover) map[string]string {
	ended := map[string]string{}
	for _, h := range closed {
		if _, known := ended[h.Conversation]; known || !s.today(h.Closed) {
			continue
		}
		words := plain(h.Cause) + ": closed by " + s.staffName(h.By)
		if h.Outcome != "" {
			words += ", " + h.Outcome
		}
		ended[h.Conversation] = words
	}
	return ended
}

func (s *site) today(t time.Time) bool {
	return !t.IsZero() && sameDay(s.Clock.Now().In(s.zone), t.In(s.zone))
}

// place puts a conversation under the first heading that fits.
func (s *site) place(b *boardView, from *store.Card, ended map[string]string, me string) {
	k := s.card(from)
	k.Mine = me != "" && (from.State.Hold != nil && from.State.Hold.By == me || hasCase(from.State.Open, me))
	if b.Only != "" && !k.passes(b.Only) {
		return
	}
	conv := &from.State
	outcome, closedToday := ended[conv.ID]
	switch {
	case len(conv.Open) > 0:
		b.Needs = append(b.Needs, k)
	case k.Running && conv.Service.Nudged > 0:
		b.Quiet = append(b.Quiet, k)
	case k.Running:
		b.Service = append(b.Service, k)
	case s.today(conv.Tub.LastFlush):
		k.Ended = "Flush finished"
		b.Done = append(b.Done, k)
	case closedToday:
		k.Ended = outcome
		b.Done = append(b.Done, k)
	default:
		b.Rest = append(b.Rest, k)
	}
}

func (s *site) card(from *store.Card) card {
	conv := &from.State
	k := card{ID: conv.ID, Name: nameOf(conv), Number: numberWords(conv.ID), OptedOut: conv.OptedOut, waiting: conv.LastIn, next: from.NextDue}
	k.Place, k.Running = s.placeOf(conv)
	k.NextAt = s.moment(from.NextDue)
	k.Next = s.nextWords(conv, from.NextDue)
	if !conv.LastIn.IsZero() {
		k.Quiet = span(s.Clock.Now().Sub(conv.LastIn))
	}
	if conv.Hold != nil && conv.Hold.By != "" {
		k.Held = s.staffName(conv.Hold.By)
	}
	if worst := worstOf(conv.Open); worst != nil {
		view := s.caseView(worst)
		k.Case, k.rank, k.waiting = &view, safety.Severity(worst.Severity).Rank(), worst.Opened
	}
	k.Last, k.LastBy = shorten(from.Last.Text, 90), s.speaker(&from.Last, conv)
	return k
}

// nextWords names the reminder that is due next, when it is one of the service's timers.
func (s *site) nextWords(conv *conversation.Conversation, due time.Time) string {
	if due.IsZero() {
		return ""
	}
	if conv.Service != nil {
		for name, timer := range conv.Service.Timers {
			if timer.Due.Equal(due) {
				return reminderWords(name)
			}
		}
	}
	if conv.Service != nil && conv.Hold == nil {
		return "Asks again" // the silence clock
	}
	return "Next"
}

// hasCase tells whether somebody has claimed one of these cases.
func hasCase(open []conversation.Handover, who string) bool {
	for i := range open {
		if open[i].By == who {
			return true
		}
	}
	return false
}

// worstOf picks the case to show on the board: the worst, then the one open longest.
func worstOf(open []conversation.Handover) *conversation.Handover {
	var worst *conversation.Handover
	for i := range open {
		h := &open[i]
		if worst == nil || safety.Severity(h.Severity).Rank() > safety.Severity(worst.Severity).Rank() {
			worst = h
		}
	}
	return worst
}
