package water

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// The traps of the Standard Methods 2330 B form that were seen in public code, one by
// one: each test would fail with the mistake in place.

// checkWater is an ordinary tub for the traps.
func checkWater() (Water, constants) {
	w := Water{TempC: 25, PH: 7.6, TotalAlkalinity: 100, CalciumHardness: 200, TDS: 900}
	return w, constantsAt(w.TempC, Wahman)
}

func TestTrapActivityTerm(t *testing.T) {
	const a, strength = 0.5108, 0.0225
	root := math.Sqrt(strength)
	require.InDelta(t, a*(root/(1+root)-0.3*strength), davies(a, strength), 1e-12)
	// 0.3 sqrt(I) and a bare 0.31 are the mistakes.
	require.Greater(t, math.Abs(davies(a, strength)-a*(root/(1+root)-0.3*root)), 0.01)
	require.Greater(t, math.Abs(davies(a, strength)-a*(root/(1+root)-0.31)), 0.1)
}

func TestTrapDissolvedSolidsAreNotConductivity(t *testing.T) {
	w, k := checkWater()
	alkalinity := w.TotalAlkalinity / (1000 * massPerEq)
	calcium := w.CalciumHardness / (1000 * massCaCO3)
	with := func(perTDS float64) float64 {
		pfm := davies(k.debye, perTDS*w.TDS)
		return k.pk2 - k.pkCalcite - math.Log10(calcium) - math.Log10(k.bicarbonate(w.PH, alkalinity, pfm)) + 5*pfm
	}
	require.InDelta(t, with(1.0/40000), k.standardMethods(&w, alkalinity), 1e-12)
	require.Greater(t, math.Abs(with(1.6e-5)-k.standardMethods(&w, alkalinity)), 0.03)
}

func TestTrapFactorTwo(t *testing.T) {
	_, k := checkWater()
	const alkalinity = 100 / (1000 * massPerEq)
	for _, c := range []struct{ ph, most float64 }{{7.6, 0.003}, {7.9, 0.003}, {8.4, 0.012}} {
		printed := alkalinity / (1 + 0.5*pow10(c.ph-k.pk2))
		ours := k.bicarbonate(c.ph, alkalinity, 0)
		effect := math.Log10(printed / ours)
		require.Positive(t, effect)
		require.Less(t, effect, c.most, "pH %g", c.ph)
	}
	// The mass balance itself: HCO3 + 2 CO3 is the alkalinity.
	hco3 := k.bicarbonate(8.4, alkalinity, 0)
	co3 := hco3 * pow10(8.4-k.pk2)
	require.InEpsilon(t, alkalinity-pow10(8.4-k.pkw)+pow10(-8.4), hco3+2*co3, 1e-9)
}

func TestTrapLogarithmAndKelvin(t *testing.T) {
	// Check numbers of the published formulas (Plummer and Busenberg 1982; Standard
	// Methods 2330; Morris 1966). The natural logarithm or 273 would miss them.
	for _, c := range []struct{ t, pk1, pk2, pks, pkw, a, hocl float64 }{
		{10, 6.463, 10.488, 8.411, 14.533, 0.4982, 7.690},
		{20, 6.382, 10.376, 8.453, 14.165, 0.5064, 7.582},
		{25, 6.352, 10.329, 8.480, 13.995, 0.5108, 7.537},
		{30, 6.328, 10.288, 8.510, 13.833, 0.5155, 7.497},
		{38, 6.302, 10.233, 8.565, 13.590, 0.5234, 7.445},
		{40, 6.297, 10.222, 8.580, 13.532, 0.5255, 7.434},
	} {
		k := constantsAt(c.t, Wahman)
		require.InDelta(t, c.pk1, -math.Log10(k.k1), 6e-4, "pK1 at %g", c.t)
		require.InDelta(t, c.pk2, k.pk2, 6e-4, "pK2 at %g", c.t)
		require.InDelta(t, c.pks, k.pkCalcite, 6e-4, "pKs at %g", c.t)
		require.InDelta(t, c.pkw, k.pkw, 6e-4, "pKw at %g", c.t)
		require.InDelta(t, c.a, k.debye, 6e-5, "A at %g", c.t)
		require.InDelta(t, c.hocl, -math.Log10(k.hocl), 6e-4, "pK of HOCl at %g", c.t)
	}
	require.Greater(t, math.Abs(constantsAt(24.85, Wahman).pkw-constantsAt(25, Wahman).pkw), 0.003, "273 instead of 273.15")
}

func TestTrapActivityCountedOnce(t *testing.T) {
	// Leaving 5 pfm out, as a mix of concentration and activity constants does, reads
	// 0.15 to 0.2 too high at a tub's dissolved solids.
	w, k := checkWater()
	alkalinity := w.TotalAlkalinity / (1000 * massPerEq)
	phs := k.standardMethods(&w, alkalinity)
	pfm := davies(k.debye, 2.5e-5*w.TDS)
	require.Greater(t, 5*pfm, 0.15)
	require.Less(t, 5*pfm, 0.35)
	without := k.pk2 - k.pkCalcite - math.Log10(w.CalciumHardness/(1000*massCaCO3)) - math.Log10(k.bicarbonate(w.PH, alkalinity, pfm))
	require.InDelta(t, 5*pfm, phs-without, 1e-9)
}

func TestTrapEquivalentsNotMoles(t *testing.T) {
	// mg/L of HCO3 as CaCO3 goes by equivalents, x 0.8202; by moles it would be 1.64.
	require.InDelta(t, 0.8202, massPerEq/massHCO3, 1e-4)
	w := Water{TempC: 25, PH: 7, TotalAlkalinity: 100, TDS: 200}
	k := constantsAt(25, Wahman)
	m := w.compose()
	var s species
	k.carbonFromPH(&m, w.PH, &s)
	require.InDelta(t, 100/0.8202, s.hco3*1000*massHCO3, 0.5, "mg/L of bicarbonate in 100 mg/L of alkalinity")
}

func TestModelAndStandardMethodsAgree(t *testing.T) {
	// To 0.03 at alkalinity up to 120 and pH up to 8 and low solids; in hot, hard,
	// alkaline water the pairs take calcium away and the form reads about 0.1 higher.
	got, err := Index(Water{TempC: 25, PH: 7.6, TotalAlkalinity: 100, CalciumHardness: 200, TDS: 500})
	require.NoError(t, err)
	require.InDelta(t, got.Model, got.StandardMethods, 0.03)
	got, err = Index(Water{TempC: 40, PH: 8.4, TotalAlkalinity: 180, CalciumHardness: 400, TDS: 1000})
	require.NoError(t, err)
	require.InDelta(t, 0.1, got.StandardMethods-got.Model, 0.08)
}

func TestConstantsTable(t *testing.T) {
	// testdata/water/constants.csv, the columns at 25 and 40 C.
	for _, c := range []struct {
		name               string
		of                 func(k *constants) float64
		at25, at40, within float64
	}{
		{"log KH", func(k *constants) float64 { return math.Log10(k.henry) }, -1.468, -1.625, 6e-4},
		{"pK HSO4-", func(k *constants) float64 { return -math.Log10(k.hso4) }, 1.988, 2.138, 1e-3},
		{"pK boric", func(k *constants) float64 { return -math.Log10(k.boric) }, 9.24, 9.127, 1e-3},
		{"log K CaCO3", func(k *constants) float64 { return math.Log10(k.caCO3) }, 3.225, 3.385, 1e-3},
		{"log K CaHCO3+", func(k *constants) float64 { return math.Log10(k.caHCO3) }, 1.106, 1.179, 1e-3},
		{"pK6", func(k *constants) float64 { return -math.Log10(k.cy.h3cy) }, 6.966, 6.686, 1e-3},
		{"pK9a", func(k *constants) float64 { return -math.Log10(k.cy.hclcy) }, 5.826, 5.468, 1e-3},
		{"pK7a", func(k *constants) float64 { return -math.Log10(k.cy.cl2cy) }, 4.652, 4.326, 1e-3},
		{"pK HOBr", func(k *constants) float64 { return -math.Log10(k.hobr) }, 8.389, 8.389, 1e-9},
	} {
		cool, warm := constantsAt(25, Wahman), constantsAt(40, Wahman)
		require.InDelta(t, c.at25, c.of(&cool), c.within, "%s at 25 C", c.name)
		require.InDelta(t, c.at40, c.of(&warm), c.within, "%s at 40 C", c.name)
	}
}
