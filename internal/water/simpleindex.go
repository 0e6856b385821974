package water

import "math"

// FactorIndex is the pool trade's saturation index: pH + temperature factor + calcium
// factor + alkalinity factor - 12.1 (12.2 from 1,000 mg/L dissolved solids), for
// comparison with printed charts (Montana ARM 37.115, Table 7). Alkalinity is the
// carbonate part. The factors are closed forms that give every row of the table when
// rounded to a tenth; the temperature factor is read off the table along straight lines.
func FactorIndex(ph, tempF, hardness, alkalinity, tds float64) float64 {
	constant := 12.1
	if tds >= 1000 {
		constant = 12.2
	}
	return ph + temperatureFactor(tempF) + tenth(math.Log10(hardness)-0.4) + tenth(math.Log10(alkalinity)) - constant
}

func tenth(v float64) float64 { return math.Round(v*10) / 10 }

// temperatureFactor reads the table, degrees Fahrenheit to factor.
func temperatureFactor(f float64) float64 {
	steps := [...]float64{32, 37, 46, 53, 60, 66, 76, 84, 94, 105, 128}
	last := len(steps) - 1
	for i := range last {
		if f < steps[i+1] || i == last-1 {
			return 0.1 * (float64(i) + clamp((f-steps[i])/(steps[i+1]-steps[i]), 0, 1))
		}
	}
	return 1
}

// CarrierIndex is the Carrier form of the saturation index, for comparison: pHs =
// (9.3 + A + B) - (C + D) of dissolved solids, temperature, hardness and alkalinity,
// temperature with 273 as the form has it.
func CarrierIndex(ph, tempC, hardness, alkalinity, tds float64) float64 {
	a := (math.Log10(tds) - 1) / 10
	b := -13.12*math.Log10(tempC+273) + 34.55
	c := math.Log10(hardness) - 0.4
	d := math.Log10(alkalinity)
	return ph - ((9.3 + a + b) - (c + d))
}

// Alkalinities splits the total alkalinity of a water, mg/L as CaCO3, into what
// carbonate, cyanurate (chlorinated or not), borate and the rest hold. Errors: as Index,
// without the need of hardness.
func Alkalinities(w Water) (carbonate, cyanurate, borate, rest float64, err error) {
	if err := w.check(false); err != nil {
		return 0, 0, 0, 0, err
	}
	if w.PH == 0 {
		return 0, 0, 0, 0, &FieldError{PH, 0, "is needed"}
	}
	k := constantsAt(w.TempC, Wahman)
	m, err := k.mixtureOf(&w)
	if err != nil {
		return 0, 0, 0, 0, err
	}
	var s species
	k.carbonFromPH(&m.totals, w.PH, &s)
	const unit = 1000 * massPerEq
	cyanurate, borate = (s.cy1+2*s.cy2+3*s.cy3)*unit, s.borate*unit
	rest = s.alkalinityOther()*unit - cyanurate - borate
	return s.alkalinityCarbonate() * unit, cyanurate, borate, rest, nil
}
