package console

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"tubhand/internal/conversation"
	"tubhand/internal/safety"
	"tubhand/internal/understand"
)

// The measures of a chart, in its own units.
const (
	chartWidth  = 320.0
	chartHeight = 120.0
	chartLeft   = 34.0
	chartRight  = 8.0
	chartTop    = 10.0
	chartFoot   = 20.0
)

// mostPoints is how many readings of a quantity a chart and its table show, the latest.
const mostPoints = 24

// chartView is the readings of one quantity over time, as a drawing and as a table.
type chartView struct {
	ID, Name, Unit     string
	Band               string // the safe band in words; "" where there is none
	About              string // what the drawing shows, in a sentence
	Points             []pointView
	Bars               []barView
	Line               string // through what was read as one number
	BandY, BandHeight  float64
	Ticks              []tickView
	Left, Right        float64
	First, Last        string // times at the ends
	Latest, LatestWhen string
	Out                bool // the latest is outside the band
}

type pointView struct {
	At    moment
	Value string
	Out   bool
}

// barView is one reading: a dot, or a bar where it is a range.
type barView struct {
	X, Y, Height float64
	Range, Out   bool
	Title        string
}

type tickView struct {
	Y     float64
	Label string
}

// measurement is one reading out of the log.
type measurement struct {
	at        time.Time
	low, high float64
	open      bool // no upper end
}

// measurements collects the readings of each quantity: of one time the last entry counts,
// since staff may have corrected it.
func measurements(log []conversation.LogEntry) map[string][]measurement {
	all := map[string][]measurement{}
	for i := range log {
		e := &log[i]
		if e.Kind != "reading" && e.Kind != "withdrawn" {
			continue
		}
		list := slices.DeleteFunc(all[e.Name], func(m measurement) bool { return m.at.Equal(e.At) })
		if e.Kind == "reading" {
			m := measurement{at: e.At, low: e.Low, high: e.High}
			m.open = e.High < e.Low
			list = append(list, m)
		}
		all[e.Name] = list
	}
	for name, list := range all {
		slices.SortStableFunc(list, func(a, b measurement) int { return a.at.Compare(b.at) })
		all[name] = list[max(0, len(list)-mostPoints):]
	}
	return all
}

// charts draws each quantity that was ever read, in the order in which the trade asks for
// them, with the band in which people may soak.
func (c *Console) charts(log []conversation.LogEntry) []chartView {
	limits, err := safety.Default().Tighten(c.Shop.Limits)
	if err != nil {
		limits = safety.Default() // a shop's file is checked when it is loaded
	}
	all := measurements(log)
	var names []string
	for name, list := range all {
		if len(list) > 0 {
			names = append(names, name)
		}
	}
	slices.SortFunc(names, func(a, b string) int {
		return cmp.Or(byUse(understand.Quantity(a), understand.Quantity(b)), cmp.Compare(a, b))
	})
	var out []chartView
	for _, name := range names {
		band, known := limits.Of(name)
		out = append(out, c.chart(name, all[name], band.Soak, known))
	}
	return out
}

func (c *Console) chart(quantity string, list []measurement, band safety.Range, banded bool) chartView {
	name, unit := quantityWords(understand.Quantity(quantity))
	v := chartView{ID: quantity, Name: name, Unit: unit, Left: chartLeft, Right: chartWidth - chartRight}
	if banded {
		v.Band = bandWords(band)
	}
	low, high := scale(list, band, banded)
	y := func(x float64) float64 {
		x = min(max(x, low), high)
		return round1(chartTop + (high-x)/(high-low)*(chartHeight-chartTop-chartFoot))
	}
	x := across(list)
	if banded {
		v.BandY = y(band.High)
		v.BandHeight = round1(max(1, y(band.Low)-v.BandY))
	}
	for _, at := range ticks(list, band, banded) {
		v.Ticks = append(v.Ticks, tickView{Y: y(at), Label: number(at)})
	}
	line := ""
	for i := range list {
		m := &list[i]
		top := m.high
		if m.open {
			top = high
		}
		words := valueWords(understand.Value{Low: m.low, High: m.high, OpenHigh: m.open})
		out := banded && (m.low < band.Low || m.open || m.high > band.High)
		bar := barView{X: x(m.at), Y: y(top), Range: top > m.low, Out: out, Title: words + " " + c.moment(m.at).Short}
		bar.Height = round1(max(3, y(m.low)-bar.Y))
		v.Bars = append(v.Bars, bar)
		line += fmt.Sprintf("%s%g %g", map[bool]string{true: "M", false: " L"}[line == ""], bar.X, y((m.low+top)/2))
		v.Points = append(v.Points, pointView{At: c.moment(m.at), Value: words, Out: out})
		v.Latest, v.LatestWhen, v.Out = words, c.moment(m.at).Short, out
	}
	if len(list) > 1 {
		v.Line = line
	}
	v.First, v.Last = c.moment(list[0].at).Short, c.moment(list[len(list)-1].at).Short
	slices.Reverse(v.Points) // the table begins with what counts
	v.About = aboutChart(&v)
	return v
}

func aboutChart(v *chartView) string {
	about := fmt.Sprintf("%s, %d readings from %s to %s; the latest is %s", v.Name, len(v.Points), v.First, v.Last, v.Latest)
	if len(v.Points) == 1 {
		about = fmt.Sprintf("%s, one reading of %s: %s", v.Name, v.Last, v.Latest)
	}
	if v.Band != "" {
		about += ". The band to soak in is " + v.Band
		if v.Out {
			about += ", and the latest is outside it"
		}
	}
	return about + "."
}

func bandWords(band safety.Range) string {
	switch {
	case math.IsInf(band.Low, -1):
		return "at most " + number(band.High)
	case math.IsInf(band.High, 1):
		return "at least " + number(band.Low)
	}
	return number(band.Low) + " to " + number(band.High)
}

// scale finds what the chart has to show: all readings and the finite ends of the band.
func scale(list []measurement, band safety.Range, banded bool) (low, high float64) {
	low, high = list[0].low, list[0].low
	take := func(x float64) {
		if !math.IsInf(x, 0) {
			low, high = min(low, x), max(high, x)
		}
	}
	for _, m := range list {
		take(m.low)
		if !m.open {
			take(m.high)
		}
	}
	if banded {
		take(band.Low)
		take(band.High)
		if math.IsInf(band.Low, -1) && band.High < 90 {
			take(0)
		}
	}
	room := max((high-low)*0.12, 0.1)
	if high == low {
		room = max(math.Abs(high)*0.1, 0.5)
	}
	return max(low-room, min(low, 0)), high + room
}

// ticks are the values worth a line: the ends of the band, and the lowest and the highest
// reading as far as those do not stand too close to it.
func ticks(list []measurement, band safety.Range, banded bool) []float64 {
	low, high := scale(list, band, banded)
	apart := (high - low) / 8
	var at []float64
	take := func(x float64) {
		if !math.IsInf(x, 0) && !slices.ContainsFunc(at, func(y float64) bool { return math.Abs(x-y) < apart }) {
			at = append(at, x)
		}
	}
	if banded {
		take(band.Low)
		take(band.High)
	}
	least, most := list[0].low, list[0].low
	for _, m := range list {
		least, most = min(least, m.low), max(most, m.low, m.high)
	}
	take(least)
	take(most)
	return at
}

// across places times between the ends of the chart.
func across(list []measurement) func(time.Time) float64 {
	first, last := list[0].at, list[len(list)-1].at
	wide := chartWidth - chartRight - chartLeft - 16
	if !last.After(first) {
		return func(time.Time) float64 { return chartLeft + 8 + wide/2 }
	}
	return func(at time.Time) float64 {
		return round1(chartLeft + 8 + wide*float64(at.Sub(first))/float64(last.Sub(first)))
	}
}

func round1(x float64) float64 { return math.Round(x*10) / 10 }
