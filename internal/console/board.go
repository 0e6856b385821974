package console

import (
	"cmp"
	"errors"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"tubhand/internal/conversation"
	"tubhand/internal/safety"
	"tubhand/internal/store"
)

// The most that the board reads: every open handover counts, of the others the ones
// that changed last.
const (
	mostCards     = 500
	mostHandovers = 500
)

// boardView is the whole board.
type boardView struct {
	Needs, Service, Quiet, Done, Rest []card
	Worst                             string // the worst severity that nobody has claimed
	Find                              string
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
	OptedOut         bool

	rank    int
	waiting time.Time
}

func (s *site) board(g *gin.Context) {
	view, err := s.readBoard(g)
	if err != nil {
		s.failed(g, "read the board", err)
		return
	}
	title := "Board"
	if n := len(view.Needs); n > 0 {
		title = plural(n, "person needed", "people needed")
	}
	if view.Worst == string(safety.Emergency) {
		title = "EMERGENCY: " + title
	}
	s.show(g, http.StatusOK, boardPage, s.frame(g, title, view))
}

// readBoard sorts every conversation into the one place where it belongs.
func (s *site) readBoard(g *gin.Context) (boardView, error) {
	view := s.Store.View(g.Request.Context(), s.Shop.Key)
	cards, err := view.Board(mostCards)
	if err != nil {
		return boardView{}, err
	}
	open, err := view.Handovers(false, mostHandovers)
	if err != nil {
		return boardView{}, err
	}
	closed, err := view.Handovers(true, mostHandovers)
	if err != nil {
		return boardView{}, err
	}
	counts, err := view.Counts()
	if err != nil {
		return boardView{}, err
	}
	if cards, err = withOpenCases(view, cards, open); err != nil {
		return boardView{}, err
	}
	b := boardView{Find: strings.TrimSpace(g.Query("find")), Total: counts.Conversations}
	ended := s.endedToday(closed)
	for i := range cards {
		s.place(&b, &cards[i], ended)
	}
	slices.SortStableFunc(b.Needs, func(x, y card) int {
		return cmp.Or(cmp.Compare(y.rank, x.rank), x.waiting.Compare(y.waiting))
	})
	slices.SortStableFunc(b.Quiet, func(x, y card) int { return x.waiting.Compare(y.waiting) })
	return b, nil
}

// withOpenCases adds the conversations that have an open handover and changed too long
// ago to be among the cards.
func withOpenCases(view store.View, cards []store.Card, open []conversation.Handover) ([]store.Card, error) {
	have := make(map[string]bool, len(cards))
	for i := range cards {
		have[cards[i].State.ID] = true
	}
	for _, h := range open {
		if have[h.Conversation] {
			continue
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
func (s *site) place(b *boardView, from *store.Card, ended map[string]string) {
	k := s.card(from)
	if b.Find != "" && !k.matches(b.Find) {
		return
	}
	conv := &from.State
	outcome, closedToday := ended[conv.ID]
	switch {
	case len(conv.Open) > 0:
		b.Needs = append(b.Needs, k)
		if k.Case.By == "" && safety.Severity(b.Worst).Rank() < k.rank {
			b.Worst = k.Case.Severity
		}
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
	k := card{ID: conv.ID, Name: nameOf(conv), Number: numberWords(conv.ID), OptedOut: conv.OptedOut, waiting: conv.LastIn}
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
	return "Next"
}

func (k *card) matches(find string) bool {
	digits := strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' {
			return r
		}
		return -1
	}, find)
	return strings.Contains(strings.ToLower(k.Name), strings.ToLower(find)) ||
		strings.Contains(strings.ToLower(k.ID), strings.ToLower(find)) ||
		(digits != "" && strings.Contains(k.ID, digits))
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
