package console

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"tubhand/internal/conversation"
	"tubhand/internal/understand"
)

// used is what owners said that they added of one product.
type used struct {
	name             string
	additions        int64
	spoons, jar      float64 // level teaspoons; jar 0: the shop file has no size
	jars, reordering float64
}

// productsReport tells what was used, in jars where the shop file has their size.
func (s *site) productsReport(tallies []conversation.Tally) reportSection {
	jars := map[string]float64{s.Shop.Flush.Name: s.Shop.Flush.JarTeaspoons}
	for _, p := range s.Shop.Products {
		jars[p.Name] = p.JarTeaspoons
	}
	byName := map[string]*used{}
	var list []*used
	for _, t := range tallies {
		if t.Kind != conversation.TallyProduct {
			continue
		}
		u := byName[t.Key]
		if u == nil {
			u = &used{name: t.Key, jar: jars[t.Key]}
			byName[t.Key], list = u, append(list, u)
		}
		u.additions, u.spoons = u.additions+t.N, u.spoons+float64(t.Sum)/4
	}
	for _, u := range list {
		if u.jar > 0 {
			u.jars = u.spoons / u.jar
			u.reordering = math.Ceil(u.jars - 1e-9)
		}
	}
	slices.SortFunc(list, func(a, b *used) int {
		return cmp.Or(cmp.Compare(b.jars, a.jars), cmp.Compare(b.spoons, a.spoons), cmp.Compare(a.name, b.name))
	})
	return productsSection(list)
}

func productsSection(list []*used) reportSection {
	r := reportSection{ID: "products", Title: "Products used", Empty: len(list) == 0,
		Table: reportTable{Head: []string{"product", "additions", "level teaspoons", "teaspoons in a jar", "jars used", "jars to reorder"}},
		Note:  "Counted is what owners said went in, by level teaspoons. What was added in other measures or without telling is not in it. Jars to reorder are what would fill the shelf again."}
	var rows []barRow
	for _, u := range list {
		row := []string{u.name, num(u.additions), number(u.spoons), "", "", ""}
		label := fmt.Sprintf("%s: %s tsp", u.name, number(u.spoons))
		if u.jar > 0 {
			row[3], row[4], row[5] = number(u.jar), fmt.Sprintf("%.1f", u.jars), number(u.reordering)
			label = fmt.Sprintf("%s: %.1f jars", u.name, u.jars)
		}
		r.Table.Rows = append(r.Table.Rows, row)
		rows = append(rows, barRow{label, []share{{int64(math.Round(u.spoons)), "bar-a", "level teaspoons"}}})
	}
	if r.Empty {
		return r
	}
	var order []string
	for _, u := range list {
		if u.reordering > 0 {
			order = append(order, fmt.Sprintf("%s of %s", plural(int(u.reordering), "jar", "jars"), u.name))
		}
	}
	r.Says = []string{"No product with a known jar was used."}
	if len(order) > 0 {
		r.Says[0] = "To reorder: " + strings.Join(order, ", ") + "."
	}
	r.Charts = []*chart{barChart("products-used", "Level teaspoons used", r.Says[0], rows)}
	return r
}

// measured is how often a quantity was read, and how often outside of the band.
type measured struct{ n, low, high int64 }

// countReadings adds up readings by quantity, and all of them.
func countReadings(tallies []conversation.Tally) (by map[string]*measured, all measured) {
	by = map[string]*measured{}
	for _, t := range tallies {
		name, side, _ := strings.Cut(t.Key, "/")
		if t.Kind != conversation.TallyReading && t.Kind != conversation.TallyOutOfBand {
			continue
		}
		if by[name] == nil {
			by[name] = &measured{}
		}
		switch {
		case t.Kind == conversation.TallyReading:
			by[name].n, all.n = by[name].n+t.N, all.n+t.N
		case side == "low":
			by[name].low, all.low = by[name].low+t.N, all.low+t.N
		case side == "high":
			by[name].high, all.high = by[name].high+t.N, all.high+t.N
		}
	}
	return by, all
}

// readingsReport tells how often readings were out of the shop's band.
func readingsReport(tallies []conversation.Tally) reportSection {
	by, all := countReadings(tallies)
	r := reportSection{ID: "readings", Title: "Readings out of band", Empty: len(by) == 0,
		Table: reportTable{Head: []string{"reading", "measured", "too low", "too high", "out of band (percent)"}},
		Note:  "Out of band is outside of what the shop allows for soaking."}
	var rows []barRow
	worst, most := "", 0.0
	for _, q := range understand.AllQuantities() {
		m := by[string(q)]
		if m == nil || m.n == 0 {
			continue
		}
		name, _ := quantityWords(q)
		part := float64(m.low+m.high) / float64(m.n)
		if part > most {
			worst, most = name, part
		}
		r.Table.Rows = append(r.Table.Rows, []string{name, num(m.n), num(m.low), num(m.high), fmt.Sprintf("%.0f", 100*part)})
		rows = append(rows, barRow{fmt.Sprintf("%s: %d of %d out", name, m.low+m.high, m.n), []share{
			{m.low, "bar-b", "too low"}, {max(m.n-m.low-m.high, 0), "bar-a", "in band"}, {m.high, "bar-c", "too high"}}})
	}
	if r.Empty {
		return r
	}
	r.Says = []string{fmt.Sprintf("%d of %s %s out of band: %d too low, %d too high.", all.low+all.high, plural(int(all.n), "reading", "readings"), were(all.low+all.high), all.low, all.high)}
	if worst != "" {
		r.Says = append(r.Says, fmt.Sprintf("%s is out most often, in %.0f of 100 tests.", worst, 100*most))
	}
	r.Charts = []*chart{barChart("readings-band", "Readings in and out of band", r.Says[0], rows, legend{"bar-b", "too low"}, legend{"bar-a", "in band"}, legend{"bar-c", "too high"})}
	return r
}
