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
	Title       string
	Past        bool
	Count       int
	Rows        []dueRow
	from, until int64 // days; until is not in it
}

type dueRow struct {
	ID, Name, Number, What string
	At                     moment
	OptedOut               bool
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
	for _, c := range []conversation.Chore{conversation.ChoreFlush, conversation.ChoreRefill, conversation.ChoreFilters, conversation.ChoreTest} {
		list = append(list, filter{Name: string(c), Words: choreWords(c), To: s.base + "due?chore=" + string(c), On: chosen == string(c)})
	}
	return list
}

// weeks are what has passed and the weeks to come, each from Monday on by the shop's clock.
func (s *site) weeks(now time.Time) []dueWeek {
	today := s.day(now)
	monday := today - int64(now.In(s.zone).Weekday()+6)%7
	list := []dueWeek{{Title: "Overdue", Past: true, from: today - pastDays, until: today}}
	for i := range int64(dueWeeks) {
		first := monday + 7*i
		day := time.Unix(first*24*60*60, 0).UTC().Format("Mon Jan 2")
		title := "Week of " + day
		switch i {
		case 0:
			title = "The rest of this week"
		case 1:
			title = "Next week, from " + day
		}
		list = append(list, dueWeek{Title: title, from: max(first, today), until: first + 7})
	}
	return list
}

// dueByWeek shows the earliest of each week and counts all.
func (s *site) dueByWeek(v *dueView) {
	v.Weeks = s.weeks(s.Clock.Now())
	chore := conversation.Chore(v.Chore)
	s.due.mu.Lock()
	defer s.due.mu.Unlock()
	v.Tubs = len(s.due.tubs)
	for i := range v.Weeks {
		w := &v.Weeks[i]
		for day := w.from; day < w.until; day++ {
			w.Count += s.due.count[dueCount{day, chore}]
			for _, e := range s.due.earliest(day, chore, mostDueRows-len(w.Rows)) {
				w.Rows = append(w.Rows, dueRow{
					ID: e.tub.id, Name: e.tub.name, Number: e.tub.number, What: choreWords(e.chore), OptedOut: e.tub.optedOut, At: s.moment(time.UnixMilli(e.at)),
				})
			}
		}
	}
}

// earliest gives the n of a day that come first, in order, without sorting the rest.
func (b *dueBook) earliest(day int64, chore conversation.Chore, n int) (best []dueEntry) {
	if n <= 0 {
		return nil
	}
	for _, e := range b.days[day] {
		if chore != "" && e.chore != chore || len(best) == n && e.compare(best[n-1]) >= 0 {
			continue
		}
		at, _ := slices.BinarySearchFunc(best, e, dueEntry.compare)
		if best = slices.Insert(best, at, e); len(best) > n {
			best = best[:n]
		}
	}
	return best
}

func (e dueEntry) compare(f dueEntry) int {
	return cmp.Or(cmp.Compare(e.at, f.at), strings.Compare(e.tub.id, f.tub.id), strings.Compare(string(e.chore), string(f.chore)))
}
