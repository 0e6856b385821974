package console

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"tubhand/internal/conversation"
	"tubhand/internal/safety"
	"tubhand/internal/store"
)

// casesReport tells why people were needed.
func casesReport(p period, tallies []conversation.Tally) reportSection {
	type cause struct {
		name                  string
		opened, closed, waits int64
	}
	byName := map[string]*cause{}
	byDay := map[string]int64{}
	var list []*cause
	var all int64
	for _, t := range tallies {
		if t.Kind != conversation.TallyHandover && t.Kind != conversation.TallyClosed {
			continue
		}
		c := byName[t.Key]
		if c == nil {
			c = &cause{name: t.Key}
			byName[t.Key], list = c, append(list, c)
		}
		if t.Kind == conversation.TallyHandover {
			c.opened, all = c.opened+t.N, all+t.N
			byDay[t.Day] += t.N
		} else {
			c.closed, c.waits = c.closed+t.N, c.waits+t.Sum
		}
	}
	slices.SortFunc(list, func(a, b *cause) int { return cmp.Or(cmp.Compare(b.opened, a.opened), cmp.Compare(a.name, b.name)) })
	r := reportSection{ID: "handovers", Title: "Cases for a person", Empty: len(list) == 0, Table: reportTable{Head: []string{"cause", "opened", "closed", "hours open on average"}}}
	var rows []barRow
	for _, c := range list {
		hours := ""
		if c.closed > 0 {
			hours = fmt.Sprintf("%.1f", float64(c.waits)/float64(c.closed)/3600)
		}
		r.Table.Rows = append(r.Table.Rows, []string{plain(c.name), num(c.opened), num(c.closed), hours})
		rows = append(rows, barRow{fmt.Sprintf("%s: %d", plain(c.name), c.opened), []share{{c.opened, "bar-c", "opened"}}})
	}
	if r.Empty {
		return r
	}
	r.Says = []string{fmt.Sprintf("%s for a person %s opened.", plural(int(all), "case", "cases"), were(all))}
	if all > 0 {
		r.Says = append(r.Says, fmt.Sprintf("The most frequent cause is %s, with %d of %d.", lower(plain(list[0].name)), list[0].opened, all))
	}
	r.Charts = []*chart{barChart("handovers-causes", "Cases by cause", r.Says[0], rows), dayChart("handovers-days", "Cases opened", p, byDay)}
	return r
}

// mostCases is how many cases are looked at for how long they waited; the stores list no more.
const mostCases = 500

// waited are how long cases of one severity waited for a person.
type waited struct {
	severity string
	times    []time.Duration // sorted
	untaken  int64
}

// part is the time within which a part of the cases was taken (nearest rank).
func (w *waited) part(of float64) time.Duration {
	rank := int(of*float64(len(w.times)) + 0.9999999)
	return w.times[max(rank, 1)-1]
}

// responseReport tells how long owners waited for a person.
func (s *site) responseReport(p period, view store.View) (reportSection, error) {
	r := reportSection{ID: "response", Title: "Until a person takes a case", Table: reportTable{Head: []string{"severity", "cases taken", "half within (minutes)", "nine of ten within (minutes)", "longest (minutes)", "not taken"}}}
	open, err := view.Handovers(false, mostCases)
	if err != nil {
		return r, fmt.Errorf("open cases: %w", err)
	}
	closed, err := view.Handovers(true, mostCases)
	if err != nil {
		return r, fmt.Errorf("closed cases: %w", err)
	}
	if len(open) == mostCases || len(closed) == mostCases {
		r.Note = fmt.Sprintf("Counted are the %d cases closed last and the %d that are worst of those open.", mostCases, mostCases)
	}
	list := waitsOf(p, append(open, closed...))
	all := &waited{}
	for _, w := range list {
		all.times, all.untaken = append(all.times, w.times...), all.untaken+w.untaken
		r.Table.Rows = append(r.Table.Rows, w.row(severityWords(w.severity)))
	}
	slices.Sort(all.times)
	if r.Empty = len(all.times) == 0 && all.untaken == 0; r.Empty {
		return r, nil
	}
	r.Table.Rows = append(r.Table.Rows, all.row("All"))
	r.Says = all.words()
	r.Charts = []*chart{barChart("response-times", "How long cases waited", r.Says[0], all.bars())}
	return r, nil
}

// waitsOf sorts the cases opened in a period by severity, worst first.
func waitsOf(p period, cases []conversation.Handover) (list []*waited) {
	for _, severity := range []safety.Severity{safety.Emergency, safety.PersonSoon, safety.Technician} {
		w := &waited{severity: string(severity)}
		for _, h := range cases {
			switch {
			case h.Severity != w.severity || !p.holds(h.Opened):
			case h.Claimed.IsZero():
				w.untaken++
			default:
				w.times = append(w.times, max(h.Claimed.Sub(h.Opened), 0))
			}
		}
		slices.Sort(w.times)
		if len(w.times) > 0 || w.untaken > 0 {
			list = append(list, w)
		}
	}
	return list
}

func (w *waited) row(name string) []string {
	row := []string{name, num(int64(len(w.times))), "", "", "", num(w.untaken)}
	if n := len(w.times); n > 0 {
		for i, d := range []time.Duration{w.part(0.5), w.part(0.9), w.times[n-1]} {
			row[2+i] = fmt.Sprintf("%.1f", d.Minutes())
		}
	}
	return row
}

func (w *waited) words() (says []string) {
	if n := len(w.times); n > 0 {
		says = append(says, fmt.Sprintf("Half of %s %s taken within %s, nine of ten within %s; the longest waited %s.",
			plural(n, "case", "cases"), were(int64(n)), span(w.part(0.5)), span(w.part(0.9)), span(w.times[n-1])))
	}
	if w.untaken > 0 {
		says = append(says, fmt.Sprintf("%s never taken by anyone, or not yet.", plural(int(w.untaken), "case was", "cases were")))
	}
	return says
}

// bars counts the cases by how long they waited.
func (w *waited) bars() []barRow {
	steps := []struct {
		upTo  time.Duration
		words string
	}{
		{5 * time.Minute, "Within 5 min"}, {15 * time.Minute, "5 to 15 min"}, {time.Hour, "15 min to 1 h"},
		{4 * time.Hour, "1 to 4 h"}, {24 * time.Hour, "4 h to a day"}, {1 << 62, "Over a day"},
	}
	var rows []barRow
	at := 0
	for _, s := range steps {
		from := at
		for at < len(w.times) && w.times[at] <= s.upTo {
			at++
		}
		rows = append(rows, barRow{fmt.Sprintf("%s: %d", s.words, at-from), []share{{int64(at - from), "bar-a", "cases"}}})
	}
	return append(rows, barRow{fmt.Sprintf("Not taken: %d", w.untaken), []share{{w.untaken, "bar-c", "cases"}}})
}
