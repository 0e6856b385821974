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

// chemical are the quantities that bear on a dose.
func chemical() [10]Quantity {
	return [...]Quantity{
		Volume, Temperature, PH, TotalAlkalinity, CalciumHardness, CyanuricAcid, BorateB, TDS, FreeChlorine, Bromine,
	}
}

// corners lists extreme waters of the readings, each solved, for the pH that doses lead
// to: the harsh ones, in which a dose moves the pH most, crossed over all that matters
// for it, and gentle ones. For a given start and end of the pH the dose between them is
// a linear function of alkalinity, cyanuric acid and borate, so its extremes lie at the
// ends of their ranges; volume, alkalinity and borate move the pH most at their low
// ends. The pH
// itself has no such order about the weakest buffer near 8.2, so a wide range gets its
// middle too; and chlorine is taken up by the first few mg/L of cyanuric acid, so that
// gets a third level. Ranges too narrow to matter beside phMargin get one level.
//
// Waters that contradict themselves are left out or, where a little more alkalinity
// within its range would make them possible, replaced by that.
func corners(r *Readings) []corner {
	var low, high Water
	for _, q := range chemical() {
		v := r.At(q).clipped(q)
		*low.At(q), *high.At(q) = v.Low, v.High
	}
	low.TDS = middleOf(low.TDS, high.TDS)
	high.TDS = low.TDS
	list := make([]corner, 0, 24)
	w := low
	for _, w.TempC = range levels(low.TempC, high.TempC, 3, math.Inf(1)) {
		k := constantsAt(w.TempC, Wahman)
		for _, w.CalciumHardness = range levels(low.CalciumHardness, high.CalciumHardness, 25, math.Inf(1)) {
			for _, w.FreeChlorine = range levels(low.FreeChlorine, high.FreeChlorine, 2, math.Inf(1)) {
				w.Bromine = low.Bromine
				list = k.crossed(list, &low, &high, w)
			}
		}
	}
	k := constantsAt(high.TempC, Wahman)
	w = high
	for _, w.CyanuricAcid = range levels(low.CyanuricAcid, high.CyanuricAcid, 0, math.Inf(1)) {
		for _, w.PH = range levels(low.PH, high.PH, 0, math.Inf(1)) {
			list = k.keep(list, &w, high.TotalAlkalinity)
		}
	}
	return list
}

// crossed adds the waters crossed over cyanuric acid and pH.
func (k *constants) crossed(list []corner, low, high *Water, w Water) []corner {
	for _, w.CyanuricAcid = range levels(low.CyanuricAcid, high.CyanuricAcid, 2, 10) {
		for _, w.PH = range levels(low.PH, high.PH, 0, 0.2) {
			list = k.keep(list, &w, high.TotalAlkalinity)
		}
	}
	return list
}

// levels are the values of a range to look at: its middle where it is no wider than
// negligible, else its ends, and in a range wider than reach one between: reach above
// the low end, or the middle where that is nearer.
func levels(low, high, negligible, reach float64) []float64 {
	switch width := high - low; {
	case width <= negligible:
		return []float64{middleOf(low, high)}
	case width > reach:
		return []float64{low, math.Min(low+reach, middleOf(low, high)), high}
	}
	return []float64{low, high}
}

// keep adds a water to the list, solved.
func (k *constants) keep(list []corner, w *Water, mostAlkalinity float64) []corner {
	if c, ok := k.corner(w, mostAlkalinity); ok {
		list = append(list, c)
	}
	return list
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
	m := c.k.at(c.now.strength)
	miss := func(g float64) float64 {
		trial := c.now
		dose := e.scaled(g)
		trial.add(&dose)
		m.speciate(&trial.totals, activity, &s)
		return s.alkalinityOther() + s.alkalinityCarbonate() - trial.alkalinity
	}
	// The miss is nearly linear in the grams: two secant steps settle it.
	a, fa := 0.0, miss(0)
	b := 1e-3
	fb := miss(b)
	for range 2 {
		if fb == fa {
			break
		}
		next := b - fb*(b-a)/(fb-fa)
		a, fa = b, fb
		b, fb = next, miss(next)
	}
	return b
}
