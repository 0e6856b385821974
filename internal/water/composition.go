package water

import "math"

// compose turns readings into totals, without the carbon. The dissolved solids are
// sodium, calcium, chloride and alkalinity as bicarbonate; what the alkalinity and the
// calcium leave over is sodium chloride, and the charges balance.
func (w *Water) compose() totals {
	t := totals{
		alkalinity: w.TotalAlkalinity / (1000 * massPerEq),
		calcium:    w.CalciumHardness / (1000 * massCaCO3),
		cyanurate:  w.CyanuricAcid / (1000 * massCyH3),
		boron:      w.BorateB / (1000 * massBoron),
		chlorine:   w.FreeChlorine / (1000 * massCl2),
		bromine:    w.Bromine / (1000 * massBr2),
	}
	t.balanceSalt(w.TDS / 1000)
	return t
}

// balanceSalt fills in the sodium and chloride of a water with that many grams of
// dissolved solids in a litre.
func (t *totals) balanceSalt(solids float64) {
	difference := t.alkalinity - 2*t.calcium // sodium less chloride
	rest := solids - t.calcium*massCa - t.alkalinity*massHCO3
	chloride := (rest - massNa*difference) / (massNa + massCl)
	chloride = math.Max(chloride, math.Max(0, -difference))
	t.anions, t.cations = chloride, chloride+difference
}

// carbonFromPH fills t.carbon from a measured pH: the carbonate alkalinity is what the
// other forms leave of the total. It reports the carbonate alkalinity in eq/L; where
// that is negative the readings contradict each other and t.carbon is 0.
func (k *constants) carbonFromPH(t *totals, ph float64, s *species) float64 {
	activity := pow10(-ph)
	t.strength = roughStrength(t)
	carbonate := 0.0
	for range 40 {
		m := k.at(t.strength)
		m.other(t, activity, s)
		carbonate = t.alkalinity - s.alkalinityOther()
		forms, pairs := m.carbonate(activity)
		a := math.Max(carbonate, 0)
		c := positiveRoot(forms.alkalinity*pairs.sum,
			forms.alkalinity+t.calcium*pairs.alkalinity-a*pairs.sum, -a)
		m.setCarbonate(t, &forms, &pairs, c, s)
		t.carbon = s.co2 + s.hco3 + s.co3 + s.caHCO3 + s.caCO3
		next := s.strength()
		settled := math.Abs(next-t.strength) <= toleranceStrength*(next+1e-9)
		t.strength = next
		if settled {
			break
		}
	}
	return carbonate
}
