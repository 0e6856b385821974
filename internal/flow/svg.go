package flow

import (
	"fmt"
	"html"
	"slices"
	"strings"
)

// SVG draws a flow as a picture to look at or to put into a page: states from top to
// bottom in layers, with what each waits for and the tub's state while in it. The state
// here is marked ("" marks none). Colours are the reader's own light or dark ones,
// unless the page sets --flow-ink, --flow-paper, --flow-accent or --flow-here. Every
// state and way has a title for screen readers and for the mouse.
func SVG(f *Flow, here string) string {
	d := &drawing{flow: f, here: here, ways: f.graph()}
	heights := make([]float64, len(f.States))
	start := 0
	for i, s := range f.States {
		heights[i] = boxPad + lineHeight*float64(len(boxLines(s)))
		if s.Name == f.Start {
			start = i
		}
	}
	d.layout = lay(len(f.States), start, d.ways, heights)
	d.ports()
	return d.draw()
}

// The measures of texts, in pixels and letters.
const (
	boxPad      = 14.0
	margin      = 28.0
	headHeight  = 72.0
	textInset   = 26.0
	boldLetters = 25 // that fit into a box
	textLetters = 34
	wayLetters  = 24 // that a way's label may have
	footLetters = 110
	letterWidth = 5.4 // of a label's letters, on the wide side
	labelHeight = 12.0
	narrowest   = 620.0 // the longest line above and below the states fits
)

// drawing is one SVG being made.
type drawing struct {
	flow   *Flow
	here   string
	ways   []way
	layout *layout
	leave  []float64 // of each way: where its upper end meets its box, across
	arrive []float64
	labels []labelled // written so far
	out    strings.Builder
}

// boxLines are the lines in a state's box.
func boxLines(s *State) []string {
	lines := []string{shorten(plainWords(s.Name), boldLetters)}
	if waits := s.waitsFor(); waits != "" {
		lines = append(lines, shorten(waits, textLetters))
	}
	for _, tag := range s.tags() {
		lines = append(lines, shorten(tag, textLetters))
	}
	return append(lines, shorten(fmt.Sprintf("filters %s, product %s", plainWords(s.Tub.Filters), s.Tub.Product), textLetters))
}

// shorten cuts a text to so many letters.
func shorten(text string, letters int) string {
	if runes := []rune(text); len(runes) > letters {
		return string(runes[:letters-1]) + "…"
	}
	return text
}

// ports spreads the ends of lines along the edges of their boxes, in the order in
// which the lines go on, so that they do not cross at the box.
func (d *drawing) ports() {
	d.leave, d.arrive = make([]float64, len(d.ways)), make([]float64, len(d.ways))
	upper, lower := map[int][]int{}, map[int][]int{}
	for i, route := range d.layout.routes {
		if len(route) > 1 {
			upper[route[0]] = append(upper[route[0]], i)
			lower[route[len(route)-1]] = append(lower[route[len(route)-1]], i)
		}
	}
	spread := func(box int, ways []int, next func(way int) int, ports []float64) {
		slices.SortStableFunc(ways, func(a, b int) int {
			return int(d.layout.spots[next(a)].x - d.layout.spots[next(b)].x)
		})
		for k, i := range ways {
			ports[i] = d.layout.spots[box].x + boxWidth*0.76*((float64(k)+1)/(float64(len(ways))+1)-0.5)
		}
	}
	for box := range d.flow.States {
		spread(box, upper[box], func(i int) int { return d.layout.routes[i][1] }, d.leave)
		spread(box, lower[box], func(i int) int { r := d.layout.routes[i]; return r[len(r)-2] }, d.arrive)
	}
}

func (d *drawing) printf(format string, args ...any) { fmt.Fprintf(&d.out, format, args...) }

func (d *drawing) draw() string {
	width, height := d.layout.size()
	foot := d.foot()
	w, h := max(width+2*margin, narrowest), headHeight+height+2*margin+lineHeight*float64(len(foot))
	d.printf(`<svg xmlns="http://www.w3.org/2000/svg" class="flow" viewBox="0 0 %.0f %.0f" width="%.0f" height="%.0f" role="graphics-document" aria-labelledby="flow-title flow-about">`+"\n", w, h, w, h)
	d.printf("<title id=\"flow-title\">%s</title>\n", html.EscapeString(d.flow.Title))
	d.printf("<desc id=\"flow-about\">%s</desc>\n", html.EscapeString(d.about()))
	d.out.WriteString(style)
	d.printf(`<text class="head" x="%.0f" y="%.0f">%s</text>`+"\n", margin, margin+4, html.EscapeString(d.flow.Title))
	for i, line := range [...]string{
		"Full lines: what the owner says. Dashed: a wait is over. Dotted: going back.",
		"The bar in a box is the water, the dot the power.",
	} {
		d.printf(`<text class="small" x="%.0f" y="%.0f">%s</text>`+"\n", margin, margin+24+lineHeight*float64(i), line)
	}
	d.printf(`<g transform="translate(%.1f %.1f)">`+"\n", (w-width)/2, headHeight+margin)
	for i := range d.ways {
		d.way(i)
	}
	for i, s := range d.flow.States {
		d.box(s, d.layout.spots[i])
	}
	for i := range d.ways {
		d.label(i)
	}
	d.out.WriteString("</g>\n")
	for i, line := range foot {
		d.printf(`<text class="small" x="%.0f" y="%.0f">%s</text>`+"\n", margin,
			headHeight+height+2*margin+lineHeight*float64(i), html.EscapeString(line))
	}
	d.out.WriteString("</svg>\n")
	return d.out.String()
}

// about says in words what the picture shows.
func (d *drawing) about() string {
	about := fmt.Sprintf("The %d steps of %s, beginning with %s.", len(d.flow.States), d.flow.Title, plainWords(d.flow.Start))
	if _, ok := d.flow.State(d.here); ok {
		about += " Now at " + plainWords(d.here) + "."
	}
	return about
}

// foot lists what is valid in every state.
func (d *drawing) foot() []string {
	lines := d.flow.everywhere()
	if len(lines) == 0 {
		return nil
	}
	foot := []string{"In every state:"}
	for _, line := range lines {
		foot = append(foot, shorten(line, footLetters))
	}
	return foot
}

// style is a drawing's own style. It has no weight (:where), so that a page can set
// everything; within a page its light or dark colours are taken, alone the reader's.
const style = `<style>
:where(svg.flow:root){color-scheme:light dark}
:where(svg.flow){font:11px system-ui,sans-serif;--ink:var(--flow-ink,CanvasText);--paper:var(--flow-paper,Canvas);--accent:var(--flow-accent,#1f8a9e);--here:var(--flow-here,#d98a1f);background:var(--paper);max-width:100%;height:auto}
:where(svg.flow) text{fill:var(--ink)}
:where(svg.flow) .head{font-size:17px;font-weight:600}
:where(svg.flow) .name{font-size:13px;font-weight:600}
:where(svg.flow) .small{opacity:.75}
:where(svg.flow) .box{fill:var(--paper);stroke:var(--ink);stroke-opacity:.45}
:where(svg.flow) .end .box{stroke-width:2.5}
:where(svg.flow) .here .box{stroke:var(--here);stroke-opacity:1;stroke-width:4}
:where(svg.flow) .gauge{fill:none;stroke:var(--ink);stroke-opacity:.35}
:where(svg.flow) .water{fill:var(--accent)}
:where(svg.flow) .power{stroke:var(--ink);stroke-opacity:.6;fill:none}
:where(svg.flow) .power.on{fill:var(--here)}
:where(svg.flow) .way{fill:none;stroke:var(--ink);stroke-opacity:.55;stroke-width:1.3}
:where(svg.flow) .way.timer{stroke-dasharray:6 4;stroke:var(--accent);stroke-opacity:1}
:where(svg.flow) .way.back{stroke-dasharray:1.5 4;stroke-opacity:.6}
:where(svg.flow) .label{font-size:10px;text-anchor:middle;paint-order:stroke;stroke:var(--paper);stroke-width:4px;stroke-linejoin:round}
:where(svg.flow) .tip{fill:var(--ink);fill-opacity:.7}
</style>
<defs><marker id="flow-tip" viewBox="0 0 8 8" refX="7" refY="4" markerWidth="7" markerHeight="7" orient="auto-start-reverse"><path class="tip" d="M0 0.5 8 4 0 7.5z"/></marker></defs>
`
