// Package picture draws a tub's readings over time: a panel for each quantity, the range
// to soak in shaded, each test a mark and the strip's uncertainty a bar. The picture is a
// PNG of bounded size that needs nothing but itself.
package picture

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"slices"
	"strconv"
	"time"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
)

// Series is one quantity over time.
type Series struct {
	Name      string
	Unit      string
	Low, High float64 // the range to soak in; both 0 where there is none
	Points    []Point // oldest first
}

// Point is one test: a value between Low and High.
type Point struct {
	At        time.Time
	Low, High float64
}

// The bounds of what is drawn.
const (
	MaxSeries = 5
	MaxPoints = 60 // of a series, the last ones
)

// Measures in pixels. Twice what is shown on a usual screen, so that phones show it sharp.
const (
	width  = 1120
	panel  = 200
	left   = 250
	right  = 40
	top    = 24
	bottom = 56
)

// Colours that differ in lightness as well as in hue, on white.
var (
	white = color.RGBA{255, 255, 255, 255}
	ink   = color.RGBA{0x1b, 0x2a, 0x33, 255}
	grey  = color.RGBA{0x8a, 0x96, 0x9c, 255}
	shade = color.RGBA{0xdc, 0xee, 0xe3, 255}
	mark  = color.RGBA{0x0b, 0x5c, 0x8a, 255}
)

// Drawer draws. It is safe for concurrent use.
type Drawer struct{ font *opentype.Font }

// New makes a Drawer with the font that it writes in.
func New() (*Drawer, error) {
	f, err := opentype.Parse(goregular.TTF)
	if err != nil {
		return nil, fmt.Errorf("picture: font: %w", err)
	}
	return &Drawer{font: f}, nil
}

// Draw gives a PNG, or nil where no series has two tests to draw a line between. Dates
// are written as layout says, in zone.
func (d *Drawer) Draw(all []Series, zone *time.Location, layout string) ([]byte, error) {
	all = bounded(all)
	if len(all) == 0 {
		return nil, nil
	}
	c := &canvas{from: all[0].Points[0].At, to: all[0].Points[0].At}
	for _, s := range all {
		for _, p := range s.Points {
			c.from, c.to = earlier(c.from, p.At), later(c.to, p.At)
		}
	}
	var err error
	if c.small, err = opentype.NewFace(d.font, &opentype.FaceOptions{Size: 24, DPI: 72, Hinting: font.HintingFull}); err != nil {
		return nil, fmt.Errorf("picture: font: %w", err)
	}
	defer c.small.Close()
	c.img = image.NewRGBA(image.Rect(0, 0, width, top+panel*len(all)+bottom))
	draw.Draw(c.img, c.img.Bounds(), image.NewUniform(white), image.Point{}, draw.Src)
	for i, s := range all {
		c.panel(s, top+panel*i)
	}
	c.dates(zone, layout)
	var b bytes.Buffer
	if err := (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&b, c.img); err != nil {
		return nil, fmt.Errorf("picture: %w", err)
	}
	return b.Bytes(), nil
}

// bounded takes the series that can be drawn, so many at most.
func bounded(all []Series) []Series {
	var out []Series
	for _, s := range all {
		s.Points = slices.Clone(s.Points[max(0, len(s.Points)-MaxPoints):])
		slices.SortStableFunc(s.Points, func(a, b Point) int { return a.At.Compare(b.At) })
		if len(s.Points) > 1 && len(out) < MaxSeries {
			out = append(out, s)
		}
	}
	return out
}

func earlier(a, b time.Time) time.Time {
	if b.Before(a) {
		return b
	}
	return a
}

func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}

// canvas is a picture being drawn.
type canvas struct {
	img      *image.RGBA
	small    font.Face
	from, to time.Time
}

// panel draws one series with its upper edge at y.
func (c *canvas) panel(s Series, y int) {
	low, high := span(s)
	at := func(v float64) int { return y + panel - 24 - int((v-low)/(high-low)*float64(panel-48)) }
	if s.Low != 0 || s.High != 0 {
		c.fill(left, at(min(s.High, high)), width-right, at(max(s.Low, low)), shade)
	}
	c.fill(left, y+panel-24, width-right, y+panel-22, grey)
	c.text(s.Name, 12, y+panel/2-10, ink)
	last := s.Points[len(s.Points)-1]
	c.text(value(last)+s.Unit, 12, y+panel/2+26, mark)
	c.text(axis(high), left-12-c.wide(axis(high)), y+32, grey)
	c.text(axis(low), left-12-c.wide(axis(low)), y+panel-18, grey)
	px, py := 0, 0
	for i, p := range s.Points {
		x, v := c.x(p.At), at((p.Low+p.High)/2)
		if i > 0 {
			c.line(px, py, x, v)
		}
		c.fill(x-1, at(p.High), x+2, at(p.Low)+1, mark)
		c.dot(x, v)
		px, py = x, v
	}
}

// span is the range that a panel shows: of the tests and of the range to soak in, with
// some room.
func span(s Series) (low, high float64) {
	low, high = s.Points[0].Low, s.Points[0].High
	for _, p := range s.Points {
		low, high = min(low, p.Low), max(high, p.High)
	}
	if s.Low != 0 || s.High != 0 {
		low, high = min(low, s.Low), max(high, s.High)
	}
	room := (high - low) / 8
	if room == 0 {
		room = max(high/8, 1)
	}
	return max(low-room, 0), high + room
}

func (c *canvas) x(at time.Time) int {
	all := c.to.Sub(c.from)
	if all <= 0 {
		return (left + width - right) / 2
	}
	return left + 16 + int(float64(at.Sub(c.from))/float64(all)*float64(width-right-left-32))
}

// dates writes the first and the last day under the panels.
func (c *canvas) dates(zone *time.Location, layout string) {
	y := c.img.Bounds().Max.Y - 16
	first, last := c.from.In(zone).Format(layout), c.to.In(zone).Format(layout)
	c.text(first, left, y, ink)
	if first != last {
		c.text(last, width-right-c.wide(last), y, ink)
	}
}

func (c *canvas) fill(x0, y0, x1, y1 int, col color.Color) {
	draw.Draw(c.img, image.Rect(x0, y0, x1, y1), image.NewUniform(col), image.Point{}, draw.Src)
}

// line draws a stroke three pixels wide.
func (c *canvas) line(x0, y0, x1, y1 int) {
	steps := max(abs(x1-x0), abs(y1-y0), 1)
	for i := range steps + 1 {
		x, y := x0+(x1-x0)*i/steps, y0+(y1-y0)*i/steps
		c.fill(x-1, y-1, x+2, y+2, mark)
	}
}

func (c *canvas) dot(x, y int) {
	const r = 7
	for dy := -r; dy <= r; dy++ {
		for dx := -r; dx <= r; dx++ {
			if dx*dx+dy*dy <= r*r {
				c.img.Set(x+dx, y+dy, mark)
			}
		}
	}
}

func abs(n int) int { return max(n, -n) }

func (c *canvas) text(s string, x, y int, col color.Color) {
	w := font.Drawer{Dst: c.img, Src: image.NewUniform(col), Face: c.small, Dot: fixed.P(x, y)}
	w.DrawString(s)
}

func (c *canvas) wide(s string) int { return font.MeasureString(c.small, s).Ceil() }

func value(p Point) string {
	if p.Low == p.High {
		return number(p.Low)
	}
	return number(p.Low) + "-" + number(p.High)
}

func number(v float64) string { return strconv.FormatFloat(float64(int(v*100+0.5))/100, 'f', -1, 64) }

// axis is a bound of a panel, as fine as its size makes sense.
func axis(v float64) string {
	if v >= 20 {
		return strconv.Itoa(int(v + 0.5))
	}
	return number(float64(int(v*10+0.5)) / 10)
}
