package water

// Neutralize gives the grams of sodium thiosulfate pentahydrate that take the chlorine,
// combined chlorine and bromine out of a water before it is drained: by the field
// figure of 1.9 mg per mg of chlorine (AWWA field guide, Table 7-2), and the most that
// theory can ask for, 7.0 (to tetrathionate). Dose the first, mix, test again. Errors:
// *FieldError.
func Neutralize(w Water) (grams, most float64, err error) {
	if err := w.check(true); err != nil {
		return 0, 0, err
	}
	chlorine := w.FreeChlorine + w.CombinedChlorine + w.Bromine*massCl2/massBr2
	perMilligram := chlorine * w.VolumeL / 1000
	return perMilligram * thiosulfatePerChlorine, perMilligram * ThiosulfateMost, nil
}

// ThiosulfateMost is mg of sodium thiosulfate pentahydrate to mg of chlorine when all
// of it goes to tetrathionate: 2 x 248.18 / 70.906.
const ThiosulfateMost = 2 * 248.18 / massCl2
