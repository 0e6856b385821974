package water

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// drawTub draws a legal water whose readings do not contradict each other: the
// carbonate is drawn, and the alkalinity that goes with it follows.
func drawTub(t *rapid.T) Water {
	number := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
	w := Water{
		VolumeL: number("volume", 200, 5000), TempC: number("temp", 0, 60), PH: number("ph", 5, 9.5),
		CalciumHardness: number("calcium", 0, 1000), CyanuricAcid: number("cya", 0, 200),
		BorateB: number("boron", 0, 60), TDS: number("tds", 0, 5000),
		FreeChlorine: number("chlorine", 0, 20), Bromine: number("bromine", 0, 20),
	}
	carbonate := number("carbonate", 1, 400)
	k := constantsAt(w.TempC, Wahman)
	for range 30 { // the other forms depend a little on the strength that the result has
		m := w.compose()
		var s species
		k.carbonFromPH(&m, w.PH, &s)
		w.TotalAlkalinity = math.Max(0, s.alkalinityOther()*1000*massPerEq) + carbonate
	}
	return w
}

// solved is a drawn water's inside, with its forms.
func solved(t *rapid.T, w *Water) (constants, mixture, species) {
	k := constantsAt(w.TempC, Wahman)
	m, err := k.mixtureOf(w)
	require.NoError(t, err)
	var s species
	_, err = k.balance(&m.totals, w.PH, closedToAir, &s)
	require.NoError(t, err)
	return k, m, s
}

func TestChargeBalances(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawTub(t)
		_, m, s := solved(t, &w)
		positive := s.cations + s.h + 2*s.ca + s.caHCO3
		negative := s.anions + s.oh + s.hco3 + 2*s.co3 + s.borate + s.ocl + s.obr + s.hso4 + 2*s.sulfateIon + s.cy1 + 2*s.cy2 + 3*s.cy3
		require.InDelta(t, positive, negative, 1e-8*(1+m.strength), "%+v", w)
	})
}

func TestMassBalances(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawTub(t)
		k, m, s := solved(t, &w)
		near := func(want, got float64, what string) {
			require.InDelta(t, want, got, 1e-9*want+1e-15, "%s of %+v", what, w)
		}
		near(m.carbon, s.co2+s.hco3+s.co3+s.caHCO3+s.caCO3, "carbon")
		near(m.calcium, s.ca+s.caHCO3+s.caCO3, "calcium")
		near(m.cyanurate, s.cy0+s.cy1+s.cy2+s.cy3, "cyanurate")
		near(m.chlorine, s.hocl+s.ocl+s.bound, "chlorine")
		require.InDelta(t, m.alkalinity, s.alkalinityOther()+s.alkalinityCarbonate(), 1e-9, "alkalinity of %+v", w)
		// The constants hold between the activities.
		medium := k.at(m.strength)
		activity := s.h * medium.g1
		require.InEpsilon(t, k.k1, activity*s.hco3*medium.g1/s.co2, 1e-6)
		require.InEpsilon(t, k.k2, activity*s.co3*medium.g2/(s.hco3*medium.g1), 1e-6)
		require.InEpsilon(t, k.kw, activity*s.oh*medium.g1, 1e-6)
		for _, form := range []float64{s.h, s.oh, s.co2, s.hco3, s.co3, s.ca, s.hocl, s.ocl, s.cy1, s.bound} {
			require.GreaterOrEqual(t, form, 0.0)
		}
	})
}

func TestReadingsComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawTub(t)
		same, err := Predict(w)
		require.NoError(t, err)
		require.InDelta(t, w.PH, same.PH, 1e-6, "the pH of a water with nothing added")
		for _, q := range Quantities() {
			require.InDelta(t, *w.At(q), *same.At(q), 1e-6, string(q))
		}
	})
}

func TestAcidLowersAndBaseRaises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawTub(t)
		grams := rapid.Float64Range(0.001, 0.05).Draw(t, "grams per litre") * w.VolumeL
		before, err := Predict(w)
		require.NoError(t, err)
		for _, acid := range []Chemical{SodiumBisulfate, MuriaticAcid3145, HydrochloricAcid} {
			one, err := Predict(w, Addition{acid, grams})
			require.NoError(t, err)
			two, err := Predict(w, Addition{acid, 2 * grams})
			require.NoError(t, err)
			require.Less(t, one.PH, before.PH, acid)
			require.Less(t, two.PH, one.PH, "%s: more acid, lower pH", acid)
			require.InDelta(t, 2*(before.TotalAlkalinity-one.TotalAlkalinity), before.TotalAlkalinity-two.TotalAlkalinity, 1e-6)
		}
		lye, err := Predict(w, Addition{SodiumHydroxide, grams})
		require.NoError(t, err)
		require.Greater(t, lye.PH, before.PH)
	})
}

func TestAcidThenBaseComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawTub(t)
		moles := rapid.Float64Range(1e-6, 2e-3).Draw(t, "mol per litre") * w.VolumeL
		back, err := Predict(w, Addition{HydrochloricAcid, moles * 36.461}, Addition{SodiumHydroxide, moles * 39.997})
		require.NoError(t, err)
		// Salt is left behind, up to 2 mmol/L, which moves the activities a little:
		// most in water that had next to none.
		require.InDelta(t, w.PH, back.PH, 0.06, "%+v", w)
		require.InDelta(t, w.TotalAlkalinity, back.TotalAlkalinity, 1e-6)
	})
}

func TestAmountReachesItsTarget(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawTub(t)
		down := w.PH - rapid.Float64Range(0.01, 1).Draw(t, "fall")
		grams, after, err := Amount(w, SodiumBisulfate, PH, down)
		require.NoError(t, err)
		require.Positive(t, grams)
		require.InDelta(t, down, after.PH, 1e-6)
		again, err := Predict(w, Addition{SodiumBisulfate, grams})
		require.NoError(t, err)
		require.Equal(t, after, again)
	})
}

func TestAirEquilibriumIsTheEndOfAeration(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawTub(t)
		w.PH = rapid.Float64Range(6.8, 8.4).Draw(t, "ordinary ph")
		end, err := Aerate(w, AirCO2)
		require.NoError(t, err)
		k := constantsAt(w.TempC, Wahman)
		m, err := k.mixtureOf(&w)
		if err != nil {
			t.Skip("the drawn alkalinity does not go with this pH")
		}
		was := math.Abs(end.PH - w.PH)
		require.NoError(t, k.breathe(&m, 3, AirCO2))
		require.LessOrEqual(t, math.Abs(end.PH-m.ph), was+1e-9, "nearer to the air's pH")
		require.GreaterOrEqual(t, (end.PH-m.ph)*(end.PH-w.PH), -1e-9, "never past it")
	})
}

func TestBracketAgreesWithNewton(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawTub(t)
		k := constantsAt(w.TempC, Wahman)
		m, err := k.mixtureOf(&w)
		require.NoError(t, err)
		m.alkalinity -= rapid.Float64Range(-3e-3, 3e-3).Draw(t, "acid")
		var s species
		fast, err := k.balance(&m.totals, w.PH, closedToAir, &s)
		require.NoError(t, err)
		slow := problem{medium: medium{constants: &k}, t: &m.totals, s: &s, open: closedToAir}
		m.strength = roughStrength(&m.totals)
		sure, err := slow.bracketed(rapid.Float64Range(1, 13).Draw(t, "guess"))
		require.NoError(t, err)
		require.InDelta(t, sure, fast, 1e-6)
	})
}

func TestSolverAllocatesNothing(t *testing.T) {
	w := Water{VolumeL: 1400, TempC: 38, PH: 7.8, TotalAlkalinity: 100, CalciumHardness: 150, CyanuricAcid: 30, FreeChlorine: 3, TDS: 600}
	dose := Addition{SodiumBisulfate, 15}
	allocations := testing.AllocsPerRun(100, func() {
		if _, err := Predict(w, dose); err != nil {
			t.Error(err)
		}
	})
	require.Zero(t, allocations)
}
