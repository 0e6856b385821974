package water

import "fmt"

// Chemical names a product by what is in it, as the machine interface names it.
type Chemical string

// The chemicals. A number in a name is the strength: percent by weight, and for
// sodium hypochlorite the trade percent (grams of available chlorine in 100 mL).
const (
	DichlorDihydrate      Chemical = "sodium_dichlor_dihydrate"
	DichlorAnhydrous      Chemical = "sodium_dichlor_anhydrous"
	CalciumHypochlorite65 Chemical = "calcium_hypochlorite_65"
	SodiumHypochlorite6   Chemical = "sodium_hypochlorite_6"
	SodiumHypochlorite825 Chemical = "sodium_hypochlorite_8_25"
	SodiumHypochlorite10  Chemical = "sodium_hypochlorite_10"
	SodiumHypochlorite125 Chemical = "sodium_hypochlorite_12_5"
	SodiumBisulfate       Chemical = "sodium_bisulfate"
	MuriaticAcid3145      Chemical = "muriatic_acid_31_45"
	SodiumBicarbonate     Chemical = "sodium_bicarbonate"
	SodiumCarbonate       Chemical = "sodium_carbonate"
	CalciumChloride77     Chemical = "calcium_chloride_77"
	CalciumChloride100    Chemical = "calcium_chloride_100"
	Monopersulfate        Chemical = "potassium_monopersulfate"
	Thiosulfate           Chemical = "sodium_thiosulfate_pentahydrate"
	BoricAcid             Chemical = "boric_acid"
	Borax                 Chemical = "borax"
	SodiumBromide         Chemical = "sodium_bromide"
	HydrochloricAcid      Chemical = "hydrochloric_acid_pure"
	SodiumHydroxide       Chemical = "sodium_hydroxide"
)

// Chemicals lists every chemical, in the order of the machine interface.
func Chemicals() []Chemical {
	return []Chemical{
		DichlorDihydrate, DichlorAnhydrous, CalciumHypochlorite65, SodiumHypochlorite6,
		SodiumHypochlorite825, SodiumHypochlorite10, SodiumHypochlorite125, SodiumBisulfate,
		MuriaticAcid3145, SodiumBicarbonate, SodiumCarbonate, CalciumChloride77,
		CalciumChloride100, Monopersulfate, Thiosulfate, BoricAcid, Borax, SodiumBromide,
		HydrochloricAcid, SodiumHydroxide,
	}
}

// ChemicalError is a chemical that is not one of Chemicals.
type ChemicalError struct{ Chemical Chemical }

// Error names the chemical.
func (e *ChemicalError) Error() string {
	return fmt.Sprintf("chemical: %q is not known", string(e.Chemical))
}

// effect is what one gram brings, mol (alkalinity: eq).
type effect struct {
	alkalinity, carbon, calcium, cyanurate, boron float64
	chlorine                                      float64 // as HOCl
	bromide                                       float64
	oxidizer                                      float64 // reads as combined chlorine, mol Cl2
	sulfate, sodium, potassium, chloride          float64
	neutralizes                                   float64 // mol HOCl taken away
}

// scaled is e for g grams of a product of which a part is active.
func (e effect) scaled(g float64) effect {
	return effect{
		e.alkalinity * g, e.carbon * g, e.calcium * g, e.cyanurate * g, e.boron * g,
		e.chlorine * g, e.bromide * g, e.oxidizer * g, e.sulfate * g, e.sodium * g,
		e.potassium * g, e.chloride * g, e.neutralizes * g,
	}
}

// perGram gives the effect of one gram of a chemical.
func perGram(c Chemical) (effect, error) {
	switch c {
	case DichlorDihydrate:
		return dichlor(0.555), nil
	case DichlorAnhydrous:
		return dichlor(0.625), nil
	case CalciumHypochlorite65:
		return calciumHypochlorite(0.65), nil
	case SodiumHypochlorite6:
		return sodiumHypochlorite(60), nil
	case SodiumHypochlorite825:
		return sodiumHypochlorite(82.5), nil
	case SodiumHypochlorite10:
		return sodiumHypochlorite(100), nil
	case SodiumHypochlorite125:
		return sodiumHypochlorite(125), nil
	case Monopersulfate:
		return monopersulfate(), nil
	case Thiosulfate:
		return thiosulfate(), nil
	}
	return perGramSalt(c)
}

// perGramSalt covers the chemicals that do not oxidize.
func perGramSalt(c Chemical) (effect, error) {
	switch c {
	case SodiumBisulfate:
		// Counted as pure. A technical grade of 93.2 % is 7 % weaker, so a dose by
		// this figure falls short rather than goes past.
		return effect{alkalinity: -1, sulfate: 1, sodium: 1}.scaled(1 / 120.06), nil
	case MuriaticAcid3145:
		return effect{alkalinity: -1, chloride: 1}.scaled(0.3145 / 36.461), nil
	case HydrochloricAcid:
		return effect{alkalinity: -1, chloride: 1}.scaled(1 / 36.461), nil
	case SodiumBicarbonate:
		return effect{alkalinity: 1, carbon: 1, sodium: 1}.scaled(1 / 84.007), nil
	case SodiumCarbonate:
		return effect{alkalinity: 2, carbon: 1, sodium: 2}.scaled(1 / 105.988), nil
	case SodiumHydroxide:
		return effect{alkalinity: 1, sodium: 1}.scaled(1 / 39.997), nil
	case CalciumChloride77:
		return effect{calcium: 1, chloride: 2}.scaled(0.77 / 110.984), nil
	case CalciumChloride100:
		return effect{calcium: 1, chloride: 2}.scaled(1 / 110.984), nil
	case BoricAcid:
		return effect{boron: 1}.scaled(1 / 61.833), nil
	case Borax: // Na2B4O7.10H2O
		return effect{alkalinity: 2, boron: 4, sodium: 2}.scaled(1 / 381.37), nil
	case SodiumBromide:
		return effect{bromide: 1, sodium: 1}.scaled(1 / 102.894), nil
	}
	return effect{}, &ChemicalError{c}
}

// dichlor is Na+ Cl2Cy-: two chlorines to one cyanurate. Its available chlorine is the
// middle of what the trade gives: 55 to 56 % for the dihydrate (theory 55.4), 62 to 63 %
// for the anhydrous (theory 64.5).
func dichlor(available float64) effect {
	return effect{alkalinity: 1, cyanurate: 1, chlorine: 2, sodium: 1}.scaled(available / (2 * massCl2))
}

// calciumHypochlorite has its available chlorine as Ca(OCl)2; what is left is counted
// as inert. Practice sees slightly more hardness (0.7 to 0.8 mg/L per mg/L chlorine).
func calciumHypochlorite(available float64) effect {
	return effect{alkalinity: 2, calcium: 1, chlorine: 2}.scaled(available / (2 * massCl2))
}

// BleachDensity is the density, g/mL, of sodium hypochlorite with that many grams of
// available chlorine in a litre: a line through water and the middle of the two
// published figures for 120 g/L (1.160 and 1.168).
func BleachDensity(gramsPerLitre float64) float64 { return 1 + 0.164/120*gramsPerLitre }

// sodiumHypochlorite is a solution made with as much chloride as hypochlorite and 0.2 %
// lye left over (the lower of two published figures).
func sodiumHypochlorite(gramsPerLitre float64) effect {
	mol := gramsPerLitre / massCl2 / (1000 * BleachDensity(gramsPerLitre))
	lye := 0.002 / 39.997
	return effect{alkalinity: mol + lye, chlorine: mol, chloride: mol, sodium: 2*mol + lye}
}

// monopersulfate is the triple salt at 4.7 % active oxygen (theory 5.20 %), fresh in
// the water: one acid per triple salt. When it is spent two more follow. It reads as
// combined chlorine and does not sanitize.
func monopersulfate() effect {
	const tripleSalt = 614.76
	e := effect{alkalinity: -1, oxidizer: 2, sulfate: 4, potassium: 5}.scaled(0.047 / 0.0520 / tripleSalt)
	return e
}

// thiosulfatePerChlorine is mg of the pentahydrate per mg of chlorine found enough in
// the field at pH 7 (AWWA, Disinfection of Pipelines and Storage Facilities Field
// Guide, Table 7-2). Theory runs from 0.88 (to sulfate) to 7.0 (to tetrathionate).
const thiosulfatePerChlorine = 1.9

// thiosulfate splits its two reactions so that the field figure comes out, and takes
// the acid of each: to sulfate 1.5 H+ a chlorine, to tetrathionate minus 1.
func thiosulfate() effect {
	const mass = 248.18
	used := thiosulfatePerChlorine * massCl2 / mass // mol thiosulfate per mol chlorine
	toSulfate := (2 - used) / (2 - 0.25)
	acid := 1.5*toSulfate - (1 - toSulfate)
	perMol := 1 / used
	return effect{
		neutralizes: perMol, alkalinity: -acid * perMol, chloride: perMol,
		sulfate: 0.5 * toSulfate * perMol, sodium: 2,
	}.scaled(1 / mass)
}
