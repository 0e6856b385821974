package understand

import (
	"math"
	"strings"

	"tubhand/internal/understand/words"
)

// outsideShare is how much of the box around a tub is water: shell, seats and the
// space above the water take the rest. Common practice, no source. The space within the
// lengths is what is told; this share of it is what the owner is asked to confirm before
// anything is dosed.
const outsideShare = 0.4

const (
	metresPerFoot = 0.3048
	metresPerInch = 0.0254
)

// length is one side, in metres once its unit is known.
type length struct {
	value    float64
	unit     float64 // metres in one, or 0
	from, to int
	depth    bool
}

// dimensions reads "7 x 7 x 3 ft", "84 by 84, 36 tall, inches", "round, 6 ft across,
// 3 ft deep".
func (in *input) dimensions() (foundVolume, bool) {
	lengths := in.lengths()
	if !in.describesSize(lengths) {
		return foundVolume{}, false
	}
	inherit(lengths)
	f := foundVolume{attempt: true}
	d, ok := in.shape(lengths)
	if !ok {
		f.why = "not all of the lengths"
		return f, true
	}
	share, inside := in.waterShare()
	d.Inside = inside
	space := tenth(d.cubicMetres() * 1000 / litresPerUSGallon)
	if water := space * share; water < leastGallons || water > 2*mostGallons {
		f.why = "that is no size of a hot tub"
		return f, true
	}
	f.volume = &Volume{Dimensions: &d, LowUSGal: space, HighUSGal: space}
	f.why, f.proposal = "a volume worked out from lengths is an estimate", math.Round(space*share)
	return f, true
}

// describesSize wants two lengths at least, and a sign that lengths are meant: a unit
// of length, or "by" between figures where the volume was asked for.
func (in *input) describesSize(lengths []length) bool {
	if len(lengths) < 2 {
		return false
	}
	joined := 0
	units := 0
	for i, l := range lengths {
		if l.unit > 0 {
			units++
		}
		if i > 0 && in.isBy(lengths[i-1].to, l.from) {
			joined++
		}
	}
	if in.asksVolume() {
		if len(lengths) == 3 && hasDepth(lengths) && in.hasWord("wide", "long", "width", "length", "ancho", "largo", "w", "l") {
			return true
		}
		return joined > 0 && (units > 0 || len(lengths) >= 3) || units >= 2 || in.isRound() && (units > 0 || hasDepth(lengths)) || units > 0 && hasDepth(lengths)
	}
	return joined >= 2 && units > 0 || units >= 2 && joined > 0
}

func hasDepth(lengths []length) bool {
	for _, l := range lengths {
		if l.depth {
			return true
		}
	}
	return false
}

func (in *input) isBy(from, to int) bool {
	for i := from; i < to; i++ {
		if in.word(i, "x", "by", "por", "bye", "buy") || in.mark(i, "*×") {
			return true
		}
	}
	return false
}

func (in *input) isRound() bool {
	if in.hasWord("blow") && in.hasWord("up") {
		return true
	}
	for _, t := range in.tokens {
		if t.Kind == words.Word && strings.HasPrefix(t.Text, "redond") {
			return true
		}
	}
	return in.hasWord("round", "circular", "circle", "diameter", "redonda", "redondo", "diametro", "across", "barrel", "inflatable", "inflable", "hexagon", "octagon", "cedar")
}

// waterShare is how much of the lengths' space is water: all of it where the owner
// speaks of the inside or of the water's depth.
func (in *input) waterShare() (share float64, inside bool) {
	if in.hasWord("outside", "exterior", "afuera", "fuera", "cabinet", "outer", "overall", "gabinete", "footprint", "listing") {
		return outsideShare, false
	}
	if in.hasWord("inside", "interior", "dentro", "adentro", "inner", "internal", "interna", "internas", "interiores") {
		return 1, true
	}
	for i := range in.tokens {
		if in.word(i, "of", "de") && in.word(i+1, "water", "agua") || in.word(i, "water", "agua") && in.word(i+1, "is", "depth", "level", "about", "como", "sube", "llega", "stands", "area", "comes", "me", "esta", "line") {
			return 1, false
		}
	}
	return outsideShare, false
}

// lengths collects the numbers that may be sides, with their units and "deep" or "tall".
func (in *input) lengths() []length {
	var out []length
	for i := 0; i < len(in.tokens); i++ {
		if in.word(i, "metro", "pie") && in.word(i+1, "y") && in.word(i+2, "medio") && !in.number(i-1) {
			u, _ := in.lengthUnit(i)
			out = append(out, length{value: 1.5, unit: u, from: i, to: i + 3})
			continue
		}
		if u, n := in.lengthUnit(i + 1); n > 0 && in.word(i, "un", "one") {
			l := length{value: 1, unit: u, from: i, to: i + 1 + n}
			i = in.addInches(&l)
			l.depth = in.isDepth(l)
			out = append(out, l)
			continue
		}
		if !in.number(i) || in.isLabel(i) {
			continue
		}
		l := length{value: in.tokens[i].Value, from: i, to: i + 1}
		u, n := in.lengthUnit(i + 1)
		if n == 0 {
			if v, m := in.unitAt(i + 1); m > 0 && v != noUnit {
				continue
			}
		}
		l.unit, l.to = u, l.to+n
		if u > 0 {
			i = in.addInches(&l)
		}
		l.depth = in.isDepth(l)
		out = append(out, l)
	}
	return out
}

// addInches reads the rest of "6 ft 8", "7' 6\"" and "6 pies y medio", and returns the last token used.
func (in *input) addInches(l *length) int {
	i := l.to
	switch {
	case in.word(i, "y", "and") && in.word(i+1, "medio", "half", "a"):
		l.value, l.to = l.value+0.5, i+2+btoi(in.word(i+1, "a"))
	case l.unit == 1 && in.number(i) && in.tokens[i].Value >= 5 && in.tokens[i].Value < 100 && !in.isBy(i-1, i):
		l.value, l.to = l.value+in.tokens[i].Value/100, i+1
		if in.word(l.to, "cm", "centimetros") {
			l.to++
		}
	case l.unit == metresPerFoot && in.number(i) && in.tokens[i].Value < 12 && (!in.isBy(i+1, i+2) || in.tokens[i].Glued && in.mark(i-1, "'")) || l.unit == metresPerFoot && in.number(i) && in.mark(i+1, "\""):
		if u, n := in.lengthUnit(i + 1); u == 0 || u == metresPerInch {
			l.value, l.to = l.value+in.tokens[i].Value/12, i+1+n
		}
	}
	return l.to - 1
}

// waterBeside reports whether the water's depth is told, which counts before the tub's.
func (in *input) waterBeside(l length) bool {
	for i := l.from - 4; i < l.to+3; i++ {
		if in.word(i, "water", "agua") {
			return true
		}
	}
	return false
}

func (in *input) lengthUnit(i int) (float64, int) {
	switch {
	case in.word(i, "ft", "foot", "feet", "pies", "pie", "fts", "feets") || in.mark(i, "'"):
		if in.mark(i, "'") && in.mark(i+1, "'") {
			return metresPerInch, 2
		}
		return metresPerFoot, 1
	case in.word(i, "in", "inch", "inches", "pulgadas", "pulgada", "ins") && !(in.word(i, "in") && in.word(i+1, "the", "my", "a")) || in.mark(i, "\""):
		return metresPerInch, 1
	case in.word(i, "cm", "centimetros", "centimeters", "centimetres", "cms", "centimetro"):
		return 0.01, 1
	case in.word(i, "mm", "milimetros"):
		return 0.001, 1
	case in.word(i, "m", "metros", "metro", "meters", "metres", "meter", "metre", "mts", "mt"):
		if _, n := in.cubicAt(i); n > 0 {
			return 0, 0
		}
		return 1, 1
	}
	return 0, 0
}

// isDepth looks beside a length for "deep", "tall", "de alto" or "of water".
func (in *input) isDepth(l length) bool {
	deep := func(i int) bool {
		return in.word(i, "deep", "tall", "high", "depth", "height", "alto", "hondo", "profundo", "profundidad", "altura", "fondo", "water", "agua", "alta", "honda", "h", "d")
	}
	for i := l.to; i < min(l.to+3, len(in.tokens)); i++ {
		if deep(i) && !in.number(i+1) {
			return true
		}
		if !in.word(i, "of", "de", "in", "or", "so", "and") {
			break
		}
	}
	for i := l.from - 1; i >= 0 && i >= l.from-5 && !in.number(i) && !in.isBy(l.to, l.to+1); i-- {
		if in.word(i, "filled", "fill", "stands", "llega", "lleno", "sube", "water", "agua", "depth", "deep", "alto", "altura", "profundidad", "hondo") {
			return true
		}
		if in.mark(i, ",;.") || in.tokens[i].Kind == words.Break {
			break
		}
	}
	return deep(l.from-1) || in.word(l.from-1, "is", "de", "about", "como", "of", "es") && deep(l.from-2)
}

// inherit gives lengths without a unit the unit of their neighbours, or guesses it by size.
func inherit(lengths []length) {
	for i := len(lengths) - 2; i >= 0; i-- {
		if lengths[i].unit == 0 {
			lengths[i].unit = fittingUnit(lengths[i].value, lengths[i+1].unit)
		}
	}
	for i := 1; i < len(lengths); i++ {
		if lengths[i].unit == 0 {
			lengths[i].unit = fittingUnit(lengths[i].value, lengths[i-1].unit)
		}
	}
	for i := range lengths {
		if lengths[i].unit == 0 {
			lengths[i].unit = guessUnit(lengths[i].value)
		}
	}
}

// fittingUnit keeps the neighbour's unit where it makes a length a tub can have.
func fittingUnit(value, unit float64) float64 {
	if m := value * unit; unit > 0 && m >= 0.4 && m <= 7 {
		return unit
	}
	if unit == 1 || unit == 0.01 {
		return metricUnit(value)
	}
	return guessUnit(value)
}

func metricUnit(value float64) float64 {
	if value < 7 {
		return 1
	}
	return 0.01
}

func guessUnit(value float64) float64 {
	switch {
	case value <= 2.6:
		return 1
	case value <= 20:
		return metresPerFoot
	case value <= 110:
		return metresPerInch
	}
	return 0.01
}

// shape makes dimensions of the lengths: three sides, a square and a depth, or a
// diameter and a depth.
func (in *input) shape(lengths []length) (Dimensions, bool) {
	sides := make([]float64, 0, 3)
	depth := 0.0
	for _, l := range lengths {
		m := math.Round(l.value*l.unit*1000) / 1000
		if l.depth && (depth == 0 || in.waterBeside(l)) {
			depth = m
			continue
		}
		sides = append(sides, m)
	}
	if depth == 0 && (len(sides) == 3 || len(sides) == 2 && in.isRound()) {
		depth, sides = sides[len(sides)-1], sides[:len(sides)-1]
	}
	switch {
	case depth == 0 || len(sides) == 0 || len(sides) > 2:
		return Dimensions{}, false
	case in.isRound() && (len(sides) == 1 || sides[0] == sides[1]):
		return Dimensions{Shape: "round", Length: sides[0], Width: sides[0], Depth: depth}, true
	case len(sides) == 1 && in.hasWord("square", "cuadrada", "cuadrado", "cada", "each", "sides", "ways", "lado", "lados", "sideways"):
		return Dimensions{Shape: "rectangle", Length: sides[0], Width: sides[0], Depth: depth}, true
	case len(sides) == 1:
		return Dimensions{}, false
	case in.hasWord("oval", "ovalada", "ovalado"):
		return Dimensions{Shape: "oval", Length: sides[0], Width: sides[1], Depth: depth}, true
	}
	return Dimensions{Shape: "rectangle", Length: sides[0], Width: sides[1], Depth: depth}, true
}

// cubicMetres is the space within the lengths.
func (d Dimensions) cubicMetres() float64 {
	v := d.Length * d.Width * d.Depth
	if d.Shape != "rectangle" {
		v *= math.Pi / 4
	}
	return v
}
