package water

import "math"

// Indexes is the saturation of a water with calcite. Above 0 it can scale, below 0 it
// can dissolve plaster and mortar.
type Indexes struct {
	Model           float64 // log10 of ion activity product over solubility product
	StandardMethods float64 // pH less pHs by Standard Methods 2330 B
	PHs             float64 // pH at saturation by Standard Methods 2330 B
}

// Index gives the saturation index from the equilibrium model and in the Standard
// Methods 2330 B form, which knows no ion pairs and is up to 0.1 higher in hot, hard,
// alkaline water. Both use the carbonate alkalinity. Errors: *FieldError for a reading
// out of its domain or a water without pH, hardness or alkalinity; ErrContradiction.
func Index(w Water) (Indexes, error) {
	if err := w.check(false); err != nil {
		return Indexes{}, err
	}
	for _, q := range [...]Quantity{PH, CalciumHardness, TotalAlkalinity} {
		if *w.At(q) == 0 {
			return Indexes{}, &FieldError{q, 0, "has no saturation index"}
		}
	}
	k := constantsAt(w.TempC, Wahman)
	m, err := k.mixtureOf(&w)
	if err != nil {
		return Indexes{}, err
	}
	var s species
	carbonate := k.carbonFromPH(&m.totals, w.PH, &s)
	if carbonate <= 0 {
		return Indexes{}, &FieldError{TotalAlkalinity, w.TotalAlkalinity, "leaves no carbonate alkalinity"}
	}
	medium := k.at(s.strength())
	phs := k.standardMethods(&w, s.hco3+s.caHCO3+2*(s.co3+s.caCO3)+s.oh-s.h)
	if math.IsNaN(phs) || math.IsInf(phs, 0) {
		return Indexes{}, &FieldError{PH, w.PH, "is beyond what Standard Methods 2330 B covers"}
	}
	return Indexes{
		Model:           math.Log10(s.ca*s.co3*medium.g2*medium.g2) + k.pkCalcite,
		StandardMethods: w.PH - phs,
		PHs:             phs,
	}, nil
}

// standardMethods is pHs of Standard Methods 2330 B for an alkalinity in eq/L from
// which cyanurate and borate are already taken.
func (k *constants) standardMethods(w *Water, alkalinity float64) float64 {
	pfm := davies(k.debye, 2.5e-5*w.TDS) // 2.5e-5 goes with TDS, 1.6e-5 with conductivity
	calcium := w.CalciumHardness / (1000 * massCaCO3)
	return k.pk2 - k.pkCalcite - math.Log10(calcium) - math.Log10(k.bicarbonate(w.PH, alkalinity, pfm)) + 5*pfm
}

// bicarbonate is [HCO3-] of Standard Methods 2330 B, mol/L. The factor in the
// denominator is printed there as 0.5; the mass balance (each carbonate is two
// equivalents) wants 2.
func (k *constants) bicarbonate(ph, alkalinity, pfm float64) float64 {
	left := alkalinity + pow10(pfm-ph) - pow10(ph+pfm-k.pkw)
	return left / (1 + 2*pow10(ph-k.pk2))
}
