package water

import "math"

// ChlorineForms says how the free chlorine of a water is held, mg/L as Cl2. Percent is
// HOCl of the free chlorine; without chlorine it is the percent that HOCl would have.
type ChlorineForms struct {
	HOCl, OCl, CyanurateBound float64
	HOClPercent               float64
}

// Chlorine splits the free chlorine of a water whose pH is given, by the constants of a
// published set. Alkalinity and hardness matter only to the ionic strength; where the
// alkalinity was left out the charge is balanced with sodium. Errors: *FieldError.
func Chlorine(w Water, model ChlorineModel) (ChlorineForms, error) {
	if err := w.check(false); err != nil {
		return ChlorineForms{}, err
	}
	if w.PH == 0 {
		return ChlorineForms{}, &FieldError{PH, 0, "is needed"}
	}
	k := constantsAt(w.TempC, model)
	t := w.compose()
	trace := t.chlorine == 0
	if trace {
		t.chlorine = 1e-9
	}
	var s species
	k.carbonFromPH(&t, w.PH, &s)
	if other := s.alkalinityOther(); other > t.alkalinity {
		t.alkalinity = other
		t.balanceSalt((w.TDS + other*1000*massHCO3) / 1000)
		k.carbonFromPH(&t, w.PH, &s)
	}
	forms := ChlorineForms{HOClPercent: 100 * s.hocl / t.chlorine}
	if !trace {
		forms.HOCl = s.hocl * 1000 * massCl2
		forms.OCl = s.ocl * 1000 * massCl2
		forms.CyanurateBound = math.Max(0, s.bound) * 1000 * massCl2
	}
	return forms, nil
}
