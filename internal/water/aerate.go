package water

import (
	"fmt"
	"math"
)

// AirCO2 is the carbon dioxide in air, atm, where none is given: 10^-3.4, about 400
// ppm. At 422 ppm the pH is 0.025 lower.
const AirCO2 = 3.98107170553e-4

// Aerate gives the water in equilibrium with air that holds that much carbon dioxide,
// atm. Alkalinity stays; the pH it had does not matter. Errors: *FieldError, or none
// of the pH values between 0.5 and 13.5 balances the water.
func Aerate(w Water, co2 float64) (Water, error) {
	if err := w.check(false); err != nil {
		return Water{}, err
	}
	if err := checkAir(co2); err != nil {
		return Water{}, err
	}
	k := constantsAt(w.TempC, Wahman)
	bare := w
	bare.PH = 0
	m, err := k.mixtureOf(&bare)
	if err != nil {
		return Water{}, err
	}
	var s species
	m.ph, err = k.balance(&m.totals, 8.3, k.henry*co2, &s)
	if err != nil {
		return Water{}, fmt.Errorf("aerate: %w", err)
	}
	return m.water(w.TempC), nil
}

// checkAir refuses a carbon dioxide pressure that no air has.
func checkAir(co2 float64) error {
	if math.IsNaN(co2) || co2 < 1e-8 || co2 > 1 {
		return &FieldError{"pco2_atm", co2, "is outside 1e-8 to 1"}
	}
	return nil
}
