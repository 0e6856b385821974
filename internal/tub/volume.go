// Package tub works out what depends on how big a tub is: its volume, how long it
// takes to fill, drain and heat, and how long its water lasts. Volumes are US
// gallons, lengths metres. It is pure, and every number given to it is checked: an
// absurd one is an error that names its field, never a wait of zero or of a year.
package tub

import "math"

// Exact factors: NIST Handbook 44, Appendix C, and NIST SP 811 (a US gallon is 231
// cubic inches, an inch is 25.4 mm; the imperial gallon 4.54609 L, from memory).
const (
	litresPerUSGallon       = 3.785411784
	litresPerImperialGallon = 4.54609
	litresPerCubicMetre     = 1000

	// MetresPerFoot turns feet into metres.
	MetresPerFoot = 0.3048
	// MetresPerInch turns inches into metres.
	MetresPerInch = 0.0254
)

// MaxUSGallons is the largest tub this service takes on (our decision: a big swim spa
// holds about half of it). What is larger is a slip of the finger or a pool.
const MaxUSGallons = 5000

// Litres turns US gallons into litres.
func Litres(usGallons float64) float64 { return usGallons * litresPerUSGallon }

// FromLitres turns litres into US gallons.
func FromLitres(litres float64) float64 { return litres / litresPerUSGallon }

// ImperialGallons turns US gallons into imperial gallons.
func ImperialGallons(usGallons float64) float64 {
	return usGallons * litresPerUSGallon / litresPerImperialGallon
}

// FromImperialGallons turns imperial gallons into US gallons.
func FromImperialGallons(imperial float64) float64 {
	return imperial * litresPerImperialGallon / litresPerUSGallon
}

// CheckVolume says what is wrong with a volume in US gallons: it must be over 0 and at
// most MaxUSGallons. The error is a *FieldError of field "volume_us_gal".
func CheckVolume(usGallons float64) error {
	return within("volume_us_gal", usGallons, 0, MaxUSGallons)
}

// Shape is the outline of a tub seen from above.
type Shape string

// The shapes whose area has a formula.
const (
	Rectangle Shape = "rectangle"
	Round     Shape = "round"
	Oval      Shape = "oval"
)

// Box is the water a tub would hold if it were hollow: Length and Width across, Depth
// of the water, in metres. A round tub has its diameter as Length and no Width.
type Box struct {
	Shape                Shape
	Length, Width, Depth float64
}

// The longest and deepest a tub can be, in metres (our decision: a long swim spa).
const (
	maxAcross = 9
	maxDepth  = 2.5
)

// USGallons is the volume of the box in US gallons. A moulded tub holds less, since
// its seats take room, so the figure is to be confirmed against the maker's or a timed
// fill before anything is dosed by it. Errors are *FieldError: "shape", "length_m",
// "width_m", "depth_m", or "volume_us_gal" when the whole is over MaxUSGallons.
func (b Box) USGallons() (float64, error) {
	if err := b.check(); err != nil {
		return 0, err
	}
	area := b.Length * b.Width
	switch b.Shape {
	case Round:
		area = math.Pi / 4 * b.Length * b.Length
	case Oval:
		area *= math.Pi / 4
	}
	volume := FromLitres(area * b.Depth * litresPerCubicMetre)
	if err := CheckVolume(volume); err != nil {
		return 0, err
	}
	return volume, nil
}

func (b Box) check() error {
	switch b.Shape {
	case Rectangle, Round, Oval:
	default:
		return &FieldError{Field: "shape", Text: string(b.Shape), Want: `"rectangle", "round" or "oval"`}
	}
	if err := within("length_m", b.Length, 0, maxAcross); err != nil {
		return err
	}
	if b.Shape != Round {
		if err := within("width_m", b.Width, 0, maxAcross); err != nil {
			return err
		}
	}
	return within("depth_m", b.Depth, 0, maxDepth)
}
