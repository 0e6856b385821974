package flow

import (
	"fmt"
	"html"
	"math"
	"strings"
)

// waterLevel is how full the gauge in a box is.
func waterLevel(water string) float64 {
	switch water {
	case "full":
		return 1
	case "rising", "falling":
		return 0.55
	case "below_jets":
		return 0.25
	}
	return 0 // empty, or the same as the caller's
}

// box draws a state.
func (d *drawing) box(s *State, at spot) {
	classes := "state"
	if s.End {
		classes += " end"
	}
	if s.Name == d.here {
		classes += " here"
	}
	left := at.x - boxWidth/2
	about := d.stateAbout(s)
	d.printf(`<g class="%s" role="graphics-symbol" aria-label="%s">`, classes, html.EscapeString(about))
	d.printf(`<title>%s</title>`, html.EscapeString(about))
	d.printf(`<rect class="box" x="%.1f" y="%.1f" width="%.1f" height="%.1f" rx="8"/>`, left, at.y, boxWidth, at.height)
	full := at.height - 26
	level := full * waterLevel(s.Tub.Water)
	d.printf(`<circle class="power %s" cx="%.1f" cy="%.1f" r="3.5"/>`, html.EscapeString(s.Tub.Power), left+13, at.y+11)
	d.printf(`<rect class="gauge" x="%.1f" y="%.1f" width="7" height="%.1f" rx="2"/>`, left+9.5, at.y+19, full)
	d.printf(`<rect class="water" x="%.1f" y="%.1f" width="7" height="%.1f" rx="2"/>`, left+9.5, at.y+19+full-level, level)
	for i, line := range boxLines(s) {
		class := "small"
		if i == 0 {
			class = "name"
		}
		d.printf(`<text class="%s" x="%.1f" y="%.1f">%s</text>`, class, left+textInset, at.y+19+lineHeight*float64(i), html.EscapeString(line))
	}
	d.out.WriteString("</g>\n")
}

// stateAbout says in words what a box shows.
func (d *drawing) stateAbout(s *State) string {
	parts := []string{plainWords(s.Name)}
	if s.Name == d.here {
		parts = append(parts, "here now")
	}
	if waits := s.waitsFor(); waits != "" {
		parts = append(parts, waits)
	}
	parts = append(parts, s.tags()...)
	return strings.Join(append(parts, s.Tub.String()), "; ")
}

// point is a place in the drawing.
type point struct{ x, y float64 }

// points of a way from its upper end to its lower.
func (d *drawing) points(i int) []point {
	route := d.layout.routes[i]
	if len(route) < 2 {
		return nil
	}
	top := d.layout.spots[route[0]]
	points := []point{{d.leave[i], top.y + top.height}}
	for _, n := range route[1 : len(route)-1] {
		s := d.layout.spots[n]
		points = append(points, point{s.x, s.y}, point{s.x, s.y + s.height})
	}
	bottom := d.layout.spots[route[len(route)-1]]
	return append(points, point{d.arrive[i], bottom.y})
}

// way draws a line: a smooth one through all its points, or a loop at the side of a
// state that leads to itself.
func (d *drawing) way(i int) {
	w := d.ways[i]
	class := "way"
	switch {
	case w.timer:
		class += " timer"
	case w.back:
		class += " back"
	}
	tip := ` marker-end="url(#flow-tip)"`
	if d.layout.turned[i] && w.from != w.to {
		tip = ` marker-start="url(#flow-tip)"`
	}
	from, to := d.flow.States[w.from], d.flow.States[w.to]
	d.printf(`<g><title>%s</title><path class="%s" d="%s"%s/></g>`+"\n",
		html.EscapeString(fmt.Sprintf("%s to %s: %s", plainWords(from.Name), plainWords(to.Name), strings.Join(w.labels, ", or "))),
		class, d.path(i), tip)
}

func (d *drawing) path(i int) string {
	points := d.points(i)
	if points == nil { // a loop
		s := d.layout.spots[d.ways[i].from]
		x, y := s.x+boxWidth/2, s.y+s.height/2
		return fmt.Sprintf("M%.1f %.1fc22 -14 22 22 0 10", x, y-6)
	}
	var b strings.Builder
	fmt.Fprintf(&b, "M%.1f %.1f", points[0].x, points[0].y)
	for k := 1; k < len(points); k++ {
		a, c := points[k-1], points[k]
		bend := (c.y - a.y) / 2
		fmt.Fprintf(&b, "C%.1f %.1f %.1f %.1f %.1f %.1f", a.x, a.y+bend, c.x, c.y-bend, c.x, c.y)
	}
	return b.String()
}

// label writes what leads along a way, near the state it leaves: at the first height
// where it covers no other label, if there is one.
func (d *drawing) label(i int) {
	points := d.points(i)
	if points == nil || d.ways[i].back {
		return // going back is shown by the line
	}
	a, b := points[0], points[1]
	if d.layout.turned[i] {
		a, b = points[len(points)-2], points[len(points)-1]
	}
	text := shorten(strings.Join(d.ways[i].labels, ", "), wayLetters)
	half := letterWidth * float64(len([]rune(text))) / 2
	x, y := between(a, b, 0.5)
	for _, along := range [...]float64{0.5, 0.3, 0.7, 0.15, 0.85} {
		if tryX, tryY := between(a, b, along); d.free(tryX, tryY, half) {
			x, y = tryX, tryY
			break
		}
	}
	d.labels = append(d.labels, labelled{x, y, half})
	d.printf(`<text class="label" aria-hidden="true" x="%.1f" y="%.1f">%s</text>`+"\n", x, y+3, html.EscapeString(text))
}

// labelled is where a label stands: its middle and half its width.
type labelled struct{ x, y, half float64 }

// free tells whether a label there would cover no other.
func (d *drawing) free(x, y, half float64) bool {
	for _, l := range d.labels {
		if math.Abs(l.x-x) < l.half+half && math.Abs(l.y-y) < labelHeight {
			return false
		}
	}
	return true
}

// between is a point of the curve that path draws between two points.
func between(a, b point, t float64) (x, y float64) {
	// A cubic with both handles upright: x eases from one end to the other.
	ease := 3*(1-t)*t*t + t*t*t
	x = a.x + (b.x-a.x)*ease
	bend := (b.y - a.y) / 2
	s := 1 - t
	y = s*s*s*a.y + 3*s*s*t*(a.y+bend) + 3*s*t*t*(b.y-bend) + t*t*t*b.y
	return x, y
}
