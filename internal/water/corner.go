package water

import "math"

// corner is one extreme water that the readings allow.
type corner struct {
	k     *constants
	now   mixture
	start float64 // pH as read
}

// assumed is the range taken for a reading that was not taken, so that a dose is right
// for every water that could be there: all but the person bands. Our decision.
func assumed(q Quantity, b *Bands) Reading {
	switch q {
	case TotalAlkalinity:
		return Between(b.TotalAlkalinity.FixLow, b.TotalAlkalinity.FixHigh)
	case CalciumHardness:
		return Between(0, b.CalciumHardness.FixHigh)
	case CyanuricAcid:
		return Between(0, b.CyanuricAcid.FixHigh)
	case FreeChlorine:
		return Between(0, b.FreeChlorine.SoakHigh)
	case Temperature:
		return Between(20, b.Temperature.SoakHigh)
	case TDS:
		return Between(DefaultTDS, 3*DefaultTDS)
	}
	return Exactly(0)
}

// fullAxes is how many ranges are crossed with each other in full. Further ones are
// crossed in a fraction of the combinations: each takes both ends, and each its own mix
// with the first ones.
const fullAxes = 5

// axes are the quantities that bear on a dose, the strongest first.
func axes() [10]Quantity {
	return [...]Quantity{
		PH, TotalAlkalinity, CyanuricAcid, Volume, BorateB, CalciumHardness, FreeChlorine,
		Temperature, TDS, Bromine,
	}
}

// corners lists the extreme waters of the readings, each solved. Corners that
// contradict themselves are left out or, where a little more alkalinity within its
// range would make them possible, replaced by that.
func corners(r *Readings) []corner {
	var low, high Water
	var open []Quantity
	for _, q := range axes() {
		v := r.At(q).clipped(q)
		*low.At(q), *high.At(q) = v.Low, v.High
		if v.Low < v.High {
			open = append(open, q)
		}
	}
	cold := constantsAt(low.TempC, Wahman)
	hot := cold
	if high.TempC > low.TempC {
		hot = constantsAt(high.TempC, Wahman)
	}
	count := 1 << min(len(open), fullAxes)
	list := make([]corner, 0, count)
	for bits := range count {
		w := low
		for i, q := range open {
			if axisBit(bits, i) {
				*w.At(q) = *high.At(q)
			}
		}
		k := &cold
		if w.TempC > low.TempC {
			k = &hot
		}
		if c, ok := k.corner(&w, high.TotalAlkalinity); ok {
			list = append(list, c)
		}
	}
	return list
}

// axisBit says whether the i-th open range takes its high end in a combination. Ranges
// past the full ones take the parity of two of those: a fractional factorial design.
func axisBit(bits, i int) bool {
	if i < fullAxes {
		return bits>>i&1 == 1
	}
	pairs := [...][2]int{{0, 1}, {0, 2}, {1, 2}, {0, 3}, {1, 3}}
	p := pairs[(i-fullAxes)%len(pairs)]
	return (bits>>p[0]^bits>>p[1])&1 == 1
}

// corner solves one extreme water.
func (k *constants) corner(w *Water, mostAlkalinity float64) (corner, bool) {
	c := corner{k: k, start: w.PH}
	var s species
	c.now = mixture{totals: w.compose(), volume: w.VolumeL, solids: w.TDS / 1000, ph: w.PH}
	carbonate := k.carbonFromPH(&c.now.totals, w.PH, &s)
	if carbonate >= 0 {
		return c, true
	}
	most := mostAlkalinity / (1000 * massPerEq)
	c.now.alkalinity = s.alkalinityOther()
	if c.now.alkalinity > most {
		return c, false
	}
	k.carbonFromPH(&c.now.totals, w.PH, &s)
	return c, true
}

// envelope is the range that the corners span now.
func envelope(list []corner) Readings {
	var r Readings
	for i := range list {
		w := list[i].now.water(list[i].k.temperature - zeroCelsius)
		for _, q := range axes() {
			widen(r.At(q), *w.At(q))
		}
	}
	return r
}

func widen(r *Reading, v float64) {
	if !r.Known {
		*r = Exactly(v)
		return
	}
	r.Low, r.High = math.Min(r.Low, v), math.Max(r.High, v)
}

// gramsForPH is the grams in a litre of an effect that bring a corner to a pH, by the
// model at the ionic strength of the water now; the caller verifies the result. It is
// negative where the chemical works the other way.
func (c *corner) gramsForPH(e *effect, ph float64) float64 {
	activity := pow10(-ph)
	var s species
	m := c.k.at(roughStrength(&c.now.totals))
	miss := func(g float64) float64 {
		trial := c.now
		dose := e.scaled(g)
		trial.add(&dose)
		m.speciate(&trial.totals, activity, &s)
		return s.alkalinityOther() + s.alkalinityCarbonate() - trial.alkalinity
	}
	// The miss is nearly linear in the grams: three secant steps settle it.
	a, fa := 0.0, miss(0)
	b := 1e-3
	fb := miss(b)
	for range 3 {
		if fb == fa {
			break
		}
		next := b - fb*(b-a)/(fb-fa)
		a, fa = b, fb
		b, fb = next, miss(next)
	}
	return b
}
