package console

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"tubhand/internal/conversation"
)

// putOff are the ends of flows at which nothing was done.
func putOff(end string) bool {
	return slices.Contains([]string{"not_today", "too_cold", "no_drain", "no_product", "no_test"}, end)
}

// fate is what became of one kind of service in a period.
type fate struct {
	flow                         string
	started, finished, put, left int64
	at                           map[string]int64 // where it was left, by state
}

// ended is how many came to an end of any kind.
func (f *fate) ended() int64 { return f.finished + f.put + f.left }

// servicesReport tells what was started, finished, and where services were left.
func (s *site) servicesReport(p period, tallies []conversation.Tally) []reportSection {
	byDay := map[string]int64{}
	fates := s.fates(tallies, byDay)
	all := fate{}
	var rows []barRow
	var lines [][]string
	for _, f := range fates {
		lines = append(lines, []string{s.flowTitle(f.flow), num(f.started), num(f.finished), num(f.put), num(f.left)})
		all.started, all.finished, all.put, all.left = all.started+f.started, all.finished+f.finished, all.put+f.put, all.left+f.left
		if f.ended() == 0 {
			continue
		}
		rows = append(rows, barRow{fmt.Sprintf("%s: %d of %d finished", s.flowTitle(f.flow), f.finished, f.ended()), []share{
			{f.finished, "bar-a", "finished"}, {f.put, "bar-b", "put off"}, {f.left, "bar-c", "left"},
		}})
	}
	services := reportSection{
		ID: "services", Title: "Services", Empty: all.started+all.ended() == 0,
		Says:  servicesWords(&all),
		Table: reportTable{[]string{"service", "started", "finished", "put off", "left"}, lines},
	}
	if len(rows) > 0 {
		services.Charts = append(services.Charts, barChart("services-ended", "What became of services", services.Says[0], rows,
			legend{"bar-a", "finished"}, legend{"bar-b", "put off"}, legend{"bar-c", "left before the end"}))
	}
	services.Charts = append(services.Charts, dayChart("services-days", "Services started", p, byDay))
	return []reportSection{services, s.leftReport(fates)}
}

func servicesWords(all *fate) []string {
	started := plural(int(all.started), "service was", "services were") + " started."
	if all.ended() == 0 {
		return []string{"No service ended in this time.", started}
	}
	return []string{
		fmt.Sprintf("%d of %s that ended %s finished; %d %s put off and %d %s left before the end.", all.finished, plural(int(all.ended()), "service", "services"), were(all.finished), all.put, were(all.put), all.left, were(all.left)),
		started,
	}
}

func were(n int64) string {
	if n == 1 {
		return "was"
	}
	return "were"
}

// fates adds up what happened to each flow, those ended most first.
func (s *site) fates(tallies []conversation.Tally, byDay map[string]int64) []*fate {
	byFlow := map[string]*fate{}
	var list []*fate
	of := func(name string) *fate {
		if byFlow[name] == nil {
			byFlow[name] = &fate{flow: name, at: map[string]int64{}}
			list = append(list, byFlow[name])
		}
		return byFlow[name]
	}
	for _, t := range tallies {
		name, state, _ := strings.Cut(t.Key, "/")
		switch t.Kind {
		case conversation.TallyStarted:
			of(name).started += t.N
			byDay[t.Day] += t.N
		case conversation.TallyFinished:
			if putOff(state) {
				of(name).put += t.N
			} else {
				of(name).finished += t.N
			}
		case conversation.TallyLeft:
			of(name).left += t.N
			of(name).at[state] += t.N
		}
	}
	slices.SortStableFunc(list, func(a, b *fate) int {
		return cmp.Or(cmp.Compare(b.ended(), a.ended()), cmp.Compare(b.started, a.started), cmp.Compare(a.flow, b.flow))
	})
	return list
}

// leftReport tells at which steps services were left.
func (s *site) leftReport(fates []*fate) reportSection {
	type place struct {
		flow, state string
		n           int64
	}
	var places []place
	for _, f := range fates {
		for state, n := range f.at {
			places = append(places, place{f.flow, state, n})
		}
	}
	slices.SortFunc(places, func(a, b place) int {
		return cmp.Or(cmp.Compare(b.n, a.n), cmp.Compare(a.flow, b.flow), cmp.Compare(a.state, b.state))
	})
	r := reportSection{ID: "left", Title: "Where services are left", Empty: len(places) == 0, Table: reportTable{Head: []string{"service", "step", "left there"}}}
	var rows []barRow
	for _, p := range places {
		r.Table.Rows = append(r.Table.Rows, []string{s.flowTitle(p.flow), plain(p.state), num(p.n)})
		rows = append(rows, barRow{fmt.Sprintf("%s (%s): %d", plain(p.state), lower(s.flowTitle(p.flow)), p.n), []share{{p.n, "bar-c", "left"}}})
	}
	if len(places) > 0 {
		worst := places[0]
		f := fates[slices.IndexFunc(fates, func(f *fate) bool { return f.flow == worst.flow })]
		r.Says = []string{fmt.Sprintf("Of %s of the kind %s that ended, %d %s left at the step %s, more than anywhere else.",
			plural(int(f.ended()), "service", "services"), lower(s.flowTitle(worst.flow)), worst.n, were(worst.n), lower(plain(worst.state)))}
		r.Charts = []*chart{barChart("left-steps", "Steps at which services were left", r.Says[0], rows)}
	}
	return r
}

func (s *site) flowTitle(name string) string {
	if f, ok := s.Flows.Flow(name); ok {
		return f.Title
	}
	return plain(name)
}

func num(n int64) string { return strconv.FormatInt(n, 10) }
