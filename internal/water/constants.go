package water

import "math"

// Molar masses, g/mol (IUPAC 2021 abridged atomic weights), and the two factors of
// the trade's units.
const (
	massCl2     = 70.906
	massBr2     = 159.808
	massCyH3    = 129.07 // EPA/600/S-17/165
	massBoron   = 10.811
	massCaCO3   = 100.087
	massPerEq   = 50.0435 // mg of CaCO3 per milliequivalent
	massCa      = 40.078
	massNa      = 22.990
	massK       = 39.098
	massCl      = 35.453
	massSO4     = 96.06
	massHCO3    = 61.017
	gasConstant = 8.314462618e-3 // kJ/(mol K)
	zeroCelsius = 273.15
)

// constants are the thermodynamic constants (ionic strength zero) at one temperature.
// Where a source gives a pK the field is 10^-pK.
type constants struct {
	k1, k2, kw          float64
	calcite             float64 // solubility product
	henry               float64 // mol/(L atm)
	caCO3, caHCO3       float64 // pairs, formation
	hocl, hobr          float64
	boric               float64
	hso4                float64
	cy                  cyanurateConstants
	debye               float64 // A of Debye and Hueckel
	pk2, pkw, pkCalcite float64 // kept for the Standard Methods form
	temperature         float64 // kelvin
}

// constantsAt gathers the constants for a temperature in Celsius.
func constantsAt(celsius float64, model ChlorineModel) constants {
	t := celsius + zeroCelsius
	lg := math.Log10(t)
	k := constants{temperature: t, debye: debyeHueckel(t)}
	// Plummer and Busenberg 1982, Geochim. Cosmochim. Acta 46:1011.
	k.k1 = pow10(-(356.3094 + 0.06091964*t - 21834.37/t - 126.8339*lg + 1684915/(t*t)))
	k.pk2 = 107.8871 + 0.03252849*t - 5151.79/t - 38.92561*lg + 563713.9/(t*t)
	k.pkCalcite = 171.9065 + 0.077993*t - 2839.319/t - 71.595*lg
	k.henry = pow10(108.3865 + 0.01985076*t - 6919.53/t - 40.45154*lg + 669365/(t*t))
	// Standard Methods 2330 (Harned and Hamer's form).
	k.pkw = 4471/t + 0.01706*t - 6.0875
	k.k2, k.calcite, k.kw = pow10(-k.pk2), pow10(-k.pkCalcite), pow10(-k.pkw)
	// WATEQ4F database. A newer CaHCO3+ entry exists that gives almost none of the
	// pair at tub temperatures; it is not used.
	k.caCO3 = pow10(-1228.732 - 0.29944*t + 35512.75/t + 485.818*lg)
	k.caHCO3 = pow10(1209.120 + 0.31294*t - 34765.05/t - 478.782*lg)
	// PHREEQC database: HSO4-; boric acid 9.24 at 25 C with 3.224 kcal/mol.
	k.hso4 = pow10(-(-56.889 + 0.006473*t + 2307.9/t + 19.8858*lg))
	k.boric = pow10(-vantHoff(9.24, 3.224*4.184, t))
	// Morris 1966, J. Phys. Chem. 70:3798 (5 to 35 C).
	k.hocl = pow10(-(3000.00/t - 10.0686 + 0.0253*t))
	// LLNL thermodynamic database, 25 C. No enthalpy is given, so none is used.
	k.hobr = pow10(-8.389)
	k.cy = cyanurateAt(t, model)
	return k
}

// vantHoff carries a pK at 25 C to t kelvin with a constant enthalpy in kJ/mol.
func vantHoff(pk25, enthalpy, t float64) float64 {
	return pk25 + enthalpy/(math.Ln10*gasConstant)*(1/t-1/298.15)
}

// debyeHueckel is A of the Davies equation at t kelvin, Standard Methods 2330.
func debyeHueckel(t float64) float64 {
	e := 60954/(t+116) - 68.937
	return 1.82e6 * math.Pow(e*t, -1.5)
}

// pow10 is 10^x for any x; math.Pow10 takes integers only.
func pow10(x float64) float64 { return math.Exp(x * math.Ln10) }

// davies is -log10 of the activity coefficient of a monovalent ion.
func davies(a, strength float64) float64 {
	root := math.Sqrt(strength)
	return a * (root/(1+root) - 0.3*strength)
}
