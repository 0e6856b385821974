package console

import (
	"fmt"
	"time"
)

// chart is a drawing made of bars whose widths are parts of the page's, so that its words
// keep their size on a phone.
type chart struct {
	ID, Title, Desc string
	Height          int
	Texts           []chartText
	Bars            []chartBar
	Legend          []legend
}

type chartText struct {
	X, Anchor string
	Y         int
	Words     string
}

// chartBar is one bar, or a part of one; places across are percentages.
type chartBar struct {
	X, W   string
	Y, H   int
	Class  string // bar-a and so on: a colour and a pattern of its own
	Detail string // for the mouse
}

type legend struct{ Class, Words string }

// share is a part of a bar.
type share struct {
	N            int64
	Class, Words string
}

// barRow is a labelled bar.
type barRow struct {
	Label  string
	Shares []share
}

// The measures of charts, in pixels.
const (
	rowHeight   = 42 // a label and its bar
	barHeight   = 14
	columnsTall = 120
	labelLength = 40 // letters that fit on a narrow phone
)

// mostBars is how many bars a chart has; its table has all rows.
const mostBars = 10

// barChart draws rows of bars, the longest as wide as the page.
func barChart(id, title, desc string, rows []barRow, legends ...legend) *chart {
	rows = rows[:min(len(rows), mostBars)]
	var most int64 = 1
	for _, r := range rows {
		most = max(most, r.total())
	}
	c := &chart{ID: id, Title: title, Desc: desc, Height: rowHeight*len(rows) + 4, Legend: legends}
	for i, r := range rows {
		y := rowHeight * i
		c.Texts = append(c.Texts, chartText{"0", "start", y + 17, shorten(r.Label, labelLength)})
		at := 0.0
		for _, s := range r.Shares {
			wide := 100 * float64(s.N) / float64(most)
			if s.N > 0 {
				c.Bars = append(c.Bars, chartBar{percent(at), percent(wide), y + 23, barHeight, s.Class, fmt.Sprintf("%s: %d", s.Words, s.N)})
			}
			at += wide
		}
	}
	return c
}

func (r barRow) total() (n int64) {
	for _, s := range r.Shares {
		n += s.N
	}
	return n
}

func percent(x float64) string { return fmt.Sprintf("%.2f%%", x) }

// dayChart draws a column for each day, or for each week where there are many.
func dayChart(id, title string, p period, byDay map[string]int64) *chart {
	step := 1
	if p.length() > 92 {
		step = 7
	}
	type column struct {
		from  time.Time
		count int64
	}
	var columns []column
	var most, all int64
	for day, i := p.From, 0; !day.After(p.Until); day, i = day.AddDate(0, 0, 1), i+1 {
		if i%step == 0 {
			columns = append(columns, column{from: day})
		}
		last := &columns[len(columns)-1]
		last.count += byDay[day.Format(time.DateOnly)]
		most, all = max(most, last.count), all+byDay[day.Format(time.DateOnly)]
	}
	each := "day"
	if step > 1 {
		each = "week"
	}
	c := &chart{ID: id, Title: title, Height: columnsTall + 44, Desc: fmt.Sprintf("%d in all, at most %d in a %s.", all, most, each)}
	wide := 100 / float64(len(columns))
	for i, col := range columns {
		tall := int(int64(columnsTall) * col.count / max(most, 1))
		if col.count > 0 {
			c.Bars = append(c.Bars, chartBar{percent(wide * (float64(i) + 0.1)), percent(wide * 0.8), 20 + columnsTall - tall, tall, "bar-a",
				fmt.Sprintf("%s of %s: %d", each, col.from.Format("Jan 2"), col.count)})
		}
	}
	c.Bars = append(c.Bars, chartBar{"0%", "100%", 20 + columnsTall, 1, "axis", ""})
	c.Texts = []chartText{
		{"0", "start", 14, fmt.Sprintf("most in a %s: %d", each, most)},
		{"0", "start", columnsTall + 38, p.From.Format("Jan 2")}, {"100%", "end", columnsTall + 38, p.Until.Format("Jan 2")},
	}
	return c
}
