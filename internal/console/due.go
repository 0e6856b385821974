package console

import (
	"cmp"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"tubhand/internal/conversation"
)

// The page of what is due: so many weeks, and so many tubs shown of each.
const (
	dueWeeks    = 6
	mostDueRows = 40
	pastDays    = 60 // what has been due for longer is left out: nobody waits for it any more. Our decision
	dueWait     = 2 * time.Second
)

// dueView is what comes round on the shop's tubs, by week.
type dueView struct {
	Weeks   []dueWeek
	Chore   string
	Chores  []filter
	Reading bool // the first look at all tubs is not done yet
	Tubs    int
}

type dueWeek struct {
	Title string
	Past  bool
	Count int
	Rows  []dueRow
	until time.Time
}

type dueRow struct {
	ID, Name, Number, What string
	At                     moment
	OptedOut               bool
	at                     time.Time
}

// More is how many of a week are not shown.
func (w dueWeek) More() int { return w.Count - len(w.Rows) }

func (s *site) duePage(g *gin.Context) {
	v := dueView{Chore: g.Query("chore"), Chores: s.choreFilters(g.Query("chore"))}
	patience := time.NewTimer(dueWait)
	defer patience.Stop()
	select {
	case <-s.due.open(s.Console):
		s.dueByWeek(&v)
	case <-patience.C:
		v.Reading = true
	case <-g.Request.Context().Done():
		return
	}
	s.show(g, http.StatusOK, duePage, s.plainFrame(g, "What is due", v))
}

func (s *site) choreFilters(chosen string) []filter {
	list := []filter{{Words: "Everything", To: s.base + "due", On: chosen == ""}}
	for _, c := range []conversation.Chore{conversation.ChoreFlush, conversation.ChoreFilters, conversation.ChoreRefill, conversation.ChoreTest} {
		list = append(list, filter{Name: string(c), Words: choreWords(c), To: s.base + "due?chore=" + string(c), On: chosen == string(c)})
	}
	return list
}

// weeks are what has passed and the weeks to come, each from Monday on by the shop's clock.
func (s *site) weeks(now time.Time) []dueWeek {
	local := now.In(s.zone)
	monday := time.Date(local.Year(), local.Month(), local.Day()-(int(local.Weekday())+6)%7, 0, 0, 0, 0, s.zone)
	today := time.Date(local.Year(), local.Month(), local.Day(), 0, 0, 0, 0, s.zone)
	list := []dueWeek{{Title: "Overdue", Past: true, until: today}}
	for i := range dueWeeks {
		from := monday.AddDate(0, 0, 7*i)
		title := "Week of " + from.Format("Mon Jan 2")
		switch i {
		case 0:
			title = "The rest of this week"
		case 1:
			title = "Next week, from " + from.Format("Mon Jan 2")
		}
		list = append(list, dueWeek{Title: title, until: monday.AddDate(0, 0, 7*(i+1))})
	}
	return list
}

// dueByWeek sorts every chore into its week. Of each week the earliest are shown and all
// counted.
func (s *site) dueByWeek(v *dueView) {
	now := s.Clock.Now()
	v.Weeks = s.weeks(now)
	oldest := now.AddDate(0, 0, -pastDays)
	found := make([][]dueRow, len(v.Weeks))
	s.due.mu.Lock()
	v.Tubs = len(s.due.tubs)
	for id, t := range s.due.tubs {
		for _, d := range t.chores {
			if v.Chore != "" && v.Chore != string(d.Chore) || d.At.Before(oldest) {
				continue
			}
			for i := range v.Weeks {
				if d.At.Before(v.Weeks[i].until) {
					found[i] = append(found[i], dueRow{ID: id, Name: t.name, Number: t.number, What: choreWords(d.Chore), OptedOut: t.optedOut, at: d.At})
					break
				}
			}
		}
	}
	s.due.mu.Unlock()
	for i := range found {
		w := &v.Weeks[i]
		w.Count = len(found[i])
		order := func(a, b dueRow) int {
			return cmp.Or(a.at.Compare(b.at), strings.Compare(a.ID, b.ID), strings.Compare(a.What, b.What))
		}
		w.Rows = earliest(found[i], mostDueRows, order)
		for j := range w.Rows {
			w.Rows[j].At = s.moment(w.Rows[j].at)
		}
	}
}

// earliest gives the n that come first, in order, without sorting the rest.
func earliest(list []dueRow, n int, order func(a, b dueRow) int) []dueRow {
	var best []dueRow
	for _, row := range list {
		if len(best) == n && order(row, best[n-1]) >= 0 {
			continue
		}
		at, _ := slices.BinarySearchFunc(best, row, order)
		if best = slices.Insert(best, at, row); len(best) > n {
			best = best[:n]
		}
	}
	return best
}
