package water_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/water"
)

// goodTub is a chlorine tub fit to soak in, read exactly.
func goodTub() water.Request {
	r := water.Request{Sanitizer: water.ByChlorine}
	r.Water.VolumeL = water.Exactly(1400)
	r.Water.TempC = water.Exactly(37)
	r.Water.PH = water.Exactly(7.5)
	r.Water.TotalAlkalinity = water.Exactly(100)
	r.Water.CalciumHardness = water.Exactly(180)
	r.Water.CyanuricAcid = water.Exactly(0)
	r.Water.FreeChlorine = water.Exactly(4)
	r.Water.CombinedChlorine = water.Exactly(0)
	return r
}

// onHand makes products of chemicals.
func onHand(chemicals ...water.Chemical) []water.Product {
	var list []water.Product
	for _, c := range chemicals {
		list = append(list, water.Product{Chemical: c})
	}
	return list
}

func plan(t *testing.T, r water.Request) water.Advice {
	t.Helper()
	a, err := water.Plan(r)
	require.NoError(t, err)
	return a
}

// reasons lists why each addition of a plan is made, in order.
func reasons(a water.Advice) []water.Why {
	var list []water.Why
	for _, d := range a.Additions {
		list = append(list, d.Why)
	}
	return list
}

func codes(a water.Advice) []water.CautionCode {
	var list []water.CautionCode
	for _, c := range a.Cautions {
		list = append(list, c.Code)
	}
	return list
}

func TestGoodWaterNeedsNothing(t *testing.T) {
	a := plan(t, goodTub())
	require.True(t, a.Soak)
	require.Equal(t, water.NoSeverity, a.Severity)
	require.Empty(t, a.Additions)
	require.Empty(t, a.Retest)
	require.Contains(t, codes(a), water.ClarityUnjudged)
	require.NotContains(t, codes(a), water.HotWater)
}

func TestSoakBands(t *testing.T) {
	// The bands of the readings, each at and past its edges; sources in DefaultBands.
	for _, c := range []struct {
		q        water.Quantity
		v        float64
		soak     bool
		severity water.Severity
	}{
		{water.FreeChlorine, 3, true, water.NoSeverity},
		{water.FreeChlorine, 5, true, water.NoSeverity},
		{water.FreeChlorine, 2.9, false, water.NoSeverity},
		{water.FreeChlorine, 5.1, false, water.NoSeverity},
		{water.FreeChlorine, 10, false, water.NoSeverity},
		{water.FreeChlorine, 10.1, false, water.PersonSoon},
		{water.PH, 7.0, true, water.NoSeverity},
		{water.PH, 7.8, true, water.NoSeverity},
		{water.PH, 6.9, false, water.NoSeverity},
		{water.PH, 7.9, false, water.NoSeverity},
		{water.PH, 6.5, false, water.PersonSoon},
		{water.PH, 8.5, false, water.PersonSoon},
		{water.CombinedChlorine, 0.5, true, water.NoSeverity},
		{water.CombinedChlorine, 0.6, false, water.NoSeverity},
		{water.CombinedChlorine, 2.1, false, water.PersonSoon},
		{water.CyanuricAcid, 50, true, water.NoSeverity},
		{water.CyanuricAcid, 51, false, water.NoSeverity},
		{water.CyanuricAcid, 91, false, water.PersonSoon},
		{water.TotalAlkalinity, 60, true, water.NoSeverity},
		{water.TotalAlkalinity, 180, true, water.NoSeverity},
		{water.TotalAlkalinity, 59, false, water.NoSeverity},
		{water.TotalAlkalinity, 181, false, water.NoSeverity},
		{water.TotalAlkalinity, 39, false, water.PersonSoon},
		{water.TotalAlkalinity, 241, false, water.PersonSoon},
		{water.CalciumHardness, 30, true, water.NoSeverity},
		{water.CalciumHardness, 700, true, water.NoSeverity},
		{water.CalciumHardness, 801, false, water.PersonSoon},
		{water.Temperature, 40, true, water.NoSeverity},
		{water.Temperature, 40.2, false, water.NoSeverity},
		{water.Temperature, 41.2, false, water.PersonSoon},
	} {
		r := goodTub()
		*r.Water.At(c.q) = water.Exactly(c.v)
		r.OnHand = onHand(water.Chemicals()...)
		a := plan(t, r)
		require.Equal(t, c.soak, a.Soak, "%s %g", c.q, c.v)
		require.Equal(t, c.severity, a.Severity, "%s %g", c.q, c.v)
		if a.Severity != water.NoSeverity {
			require.Empty(t, a.Additions, "a person's band is never dosed: %s %g", c.q, c.v)
			require.Contains(t, a.Retest, c.q)
		}
	}
}

func TestWhatWasNotReadIsAskedFor(t *testing.T) {
	for _, q := range []water.Quantity{
		water.FreeChlorine, water.PH, water.TotalAlkalinity, water.CombinedChlorine, water.CyanuricAcid,
	} {
		r := goodTub()
		*r.Water.At(q) = water.Reading{}
		a := plan(t, r)
		require.False(t, a.Soak, q)
		require.Contains(t, a.Retest, q)
	}
}

func TestNoDoseWithoutVolumeOrPH(t *testing.T) {
	r := goodTub()
	r.Water.FreeChlorine = water.Exactly(0)
	r.OnHand = onHand(water.SodiumHypochlorite10)
	require.Len(t, plan(t, r).Additions, 1)
	r.Water.VolumeL = water.Reading{}
	a := plan(t, r)
	require.Empty(t, a.Additions)
	require.Contains(t, codes(a), water.VolumeUnknown)
	r = goodTub()
	r.Water.FreeChlorine, r.Water.PH = water.Exactly(0), water.Reading{}
	r.OnHand = onHand(water.SodiumHypochlorite10)
	require.Empty(t, plan(t, r).Additions)
}

func TestOrderOfAdditions(t *testing.T) {
	r := goodTub()
	r.Water.TotalAlkalinity = water.Exactly(50)
	r.Water.PH = water.Exactly(7.85)
	r.Water.FreeChlorine = water.Exactly(1)
	r.Water.CalciumHardness = water.Exactly(60)
	r.OnHand = onHand(water.CalciumChloride77, water.SodiumHypochlorite10, water.SodiumBisulfate, water.SodiumBicarbonate)
	a := plan(t, r)
	want := []water.Why{water.RaiseAlkalinity, water.LowerPH, water.RaiseChlorine, water.RaiseHardness}
	require.Equal(t, want, reasons(a))
	for _, d := range a.Additions {
		require.GreaterOrEqual(t, d.Wait, 30*time.Minute)
	}
	require.Subset(t, a.Retest, []water.Quantity{water.PH, water.TotalAlkalinity, water.FreeChlorine, water.CalciumHardness})
	require.Contains(t, codes(a), water.HandleWithCare)
	require.Contains(t, codes(a), water.AcidAwayFromCl)
	final := a.Predicted
	require.Greater(t, final.TotalAlkalinity.Low, 60.0)
	require.Less(t, final.PH.High, 7.8)
	require.InDelta(t, 4, final.FreeChlorine.Low, 0.3)
	require.Greater(t, final.CalciumHardness.Low, 100.0)
}

func TestAcidIsCappedAndAsksForAnotherTest(t *testing.T) {
	r := goodTub()
	r.Water.PH = water.Exactly(8.3)
	r.OnHand = onHand(water.MuriaticAcid3145)
	a := plan(t, r)
	require.Equal(t, []water.Why{water.LowerPH}, reasons(a))
	after := a.Additions[0].After.PH
	require.GreaterOrEqual(t, after.Low, 8.0)
	require.LessOrEqual(t, after.High, 8.1)
	require.Contains(t, codes(a), water.RetestThenMore)
}

func TestWideReadingsAreNotDosed(t *testing.T) {
	r := goodTub()
	r.Water.PH = water.Between(7.0, 8.2)
	r.Water.FreeChlorine = water.Between(1, 5)
	r.OnHand = onHand(water.SodiumBisulfate, water.SodiumCarbonate, water.SodiumHypochlorite10)
	a := plan(t, r)
	require.Empty(t, a.Additions)
	require.Contains(t, codes(a), water.RangeTooWide)
	require.Contains(t, codes(a), water.TestMoreFinely)
}

func TestLowPHIsNudgedUp(t *testing.T) {
	r := goodTub()
	r.Water.PH = water.Exactly(7.1)
	a := plan(t, r)
	require.True(t, a.Soak)
	require.Empty(t, a.Additions)
	require.Contains(t, codes(a), water.AerateToRaise)
	r.OnHand = onHand(water.SodiumCarbonate)
	a = plan(t, r)
	require.True(t, a.Soak)
	require.Equal(t, []water.Why{water.RaisePH}, reasons(a))
	require.Greater(t, a.Predicted.PH.Low, 7.2)
	require.Contains(t, codes(a), water.SoakBeforeAdding)
}

func TestHighAlkalinityTakesAcidWithinThePH(t *testing.T) {
	r := goodTub()
	r.Water.TotalAlkalinity = water.Exactly(200)
	r.OnHand = onHand(water.SodiumBisulfate)
	a := plan(t, r)
	require.Equal(t, []water.Why{water.LowerAlkalinity}, reasons(a))
	require.GreaterOrEqual(t, a.Predicted.PH.Low, 7.2)
	require.Less(t, a.Predicted.TotalAlkalinity.High, 200.0)
}

func TestChlorineSources(t *testing.T) {
	low := goodTub()
	low.Water.FreeChlorine = water.Between(0, 1)
	t.Run("without cyanuric acid first", func(t *testing.T) {
		r := low
		r.OnHand = onHand(water.DichlorDihydrate, water.SodiumHypochlorite6)
		a := plan(t, r)
		require.Equal(t, water.SodiumHypochlorite6, a.Additions[0].Chemical)
		require.NotContains(t, codes(a), water.DichlorAddsCYA)
	})
	t.Run("dichlor brings cyanuric acid", func(t *testing.T) {
		r := low
		r.OnHand = onHand(water.DichlorDihydrate)
		a := plan(t, r)
		require.Equal(t, water.DichlorDihydrate, a.Additions[0].Chemical)
		i := slices.Index(codes(a), water.DichlorAddsCYA)
		require.GreaterOrEqual(t, i, 0)
		rise := a.Predicted.FreeChlorine.Low - low.Water.FreeChlorine.Low
		require.InDelta(t, 0.91*rise, a.Cautions[i].Value, 0.05)
		require.Contains(t, codes(a), water.NoCyanuricInTubs)
	})
	t.Run("no dichlor past 50 of cyanuric acid", func(t *testing.T) {
		r := low
		r.Water.CyanuricAcid = water.Exactly(49.5)
		r.OnHand = onHand(water.DichlorAnhydrous)
		for _, d := range plan(t, r).Additions {
			require.LessOrEqual(t, d.After.CyanuricAcid.High, 50.0)
		}
	})
	t.Run("calcium hypochlorite and dichlor are kept apart", func(t *testing.T) {
		r := low
		r.OnHand = onHand(water.DichlorAnhydrous, water.CalciumHypochlorite65)
		a := plan(t, r)
		require.Contains(t, codes(a), water.CalHypoNotDichlor)
		require.Len(t, a.Additions, 1)
	})
	t.Run("nothing on hand", func(t *testing.T) {
		a := plan(t, low)
		require.Empty(t, a.Additions)
		require.Contains(t, a.Cautions, water.Caution{Code: water.NothingOnHand, Quantity: water.FreeChlorine})
	})
	t.Run("never past five", func(t *testing.T) {
		r := low
		r.Water.FreeChlorine = water.Between(1, 3)
		r.OnHand = onHand(water.SodiumHypochlorite125)
		require.LessOrEqual(t, plan(t, r).Predicted.FreeChlorine.High, 5.0)
	})
	t.Run("reagents are never advised", func(t *testing.T) {
		r := goodTub()
		r.Water.PH = water.Exactly(8.2)
		r.OnHand = onHand(water.HydrochloricAcid, water.SodiumHydroxide)
		require.Empty(t, plan(t, r).Additions)
	})
}

func TestHighSanitizerFalls(t *testing.T) {
	r := goodTub()
	r.Water.FreeChlorine = water.Exactly(8)
	r.OnHand = onHand(water.Chemicals()...)
	a := plan(t, r)
	require.Empty(t, a.Additions)
	require.Contains(t, a.Cautions, water.Caution{Code: water.LetItFall, Quantity: water.FreeChlorine})
}

func TestBromineTub(t *testing.T) {
	r := goodTub()
	r.Sanitizer = water.ByBromine
	r.Water.FreeChlorine, r.Water.CombinedChlorine, r.Water.CyanuricAcid = water.Reading{}, water.Reading{}, water.Reading{}
	r.Water.Bromine = water.Exactly(5)
	require.True(t, plan(t, r).Soak)
	r.Water.Bromine = water.Between(1, 2)
	r.OnHand = onHand(water.SodiumHypochlorite125)
	a := plan(t, r)
	require.Equal(t, []water.Why{water.RaiseBromine}, reasons(a))
	require.InDelta(t, 5, (a.Predicted.Bromine.Low+a.Predicted.Bromine.High)/2, 0.5)
	r.Water.Bromine = water.Exactly(0)
	require.Contains(t, codes(plan(t, r)), water.NeedsBromideBank)
	r.OnHand = onHand(water.SodiumBromide, water.Monopersulfate)
	require.Equal(t, []water.Why{water.BankBromide, water.RaiseBromine}, reasons(plan(t, r)))
	r.Water.Bromine = water.Exactly(10.5)
	require.Equal(t, water.PersonSoon, plan(t, r).Severity)
}

func TestDilution(t *testing.T) {
	t.Run("cyanuric acid", func(t *testing.T) {
		r := goodTub()
		r.Water.CyanuricAcid = water.Exactly(60)
		a := plan(t, r)
		require.InDelta(t, 0.5, a.DrainFraction, 1e-9)
		require.Contains(t, a.Cautions, water.Caution{Code: water.PlanDrain, Quantity: water.CyanuricAcid})
		r.Water.CyanuricAcid = water.Exactly(120)
		a = plan(t, r)
		require.Equal(t, water.PersonSoon, a.Severity)
		require.InDelta(t, 0.75, a.DrainFraction, 1e-9)
		require.Contains(t, a.Cautions, water.Caution{Code: water.DrainFirst, Quantity: water.CyanuricAcid})
	})
	t.Run("hardness with a hard fill", func(t *testing.T) {
		r := goodTub()
		r.Water.CalciumHardness = water.Exactly(500)
		r.Fill = &water.Water{CalciumHardness: 150, TDS: 300}
		a := plan(t, r)
		require.True(t, a.Soak)
		require.InDelta(t, 0.72, a.DrainFraction, 1e-9) // (500-250)/(500-150), rounded up
	})
	t.Run("dissolved solids", func(t *testing.T) {
		r := goodTub()
		r.Water.TDS = water.Exactly(2000)
		require.InDelta(t, 1, plan(t, r).DrainFraction, 1e-9)
	})
	require.InDelta(t, 1, water.DrainFraction(500, 250, 300), 1e-9)
	require.Zero(t, water.DrainFraction(20, 30, 0))
}

func TestCombinedChlorine(t *testing.T) {
	r := goodTub()
	r.Water.CombinedChlorine = water.Exactly(0.8)
	r.OnHand = onHand(water.SodiumHypochlorite10)
	a := plan(t, r)
	require.Empty(t, a.Additions, "not without being asked to")
	require.Contains(t, a.Cautions, water.Caution{Code: water.BreakpointAt, Value: 8})
	r.Breakpoint = true
	a = plan(t, r)
	require.Equal(t, []water.Why{water.BurnCombined}, reasons(a))
	require.InDelta(t, 8, a.Predicted.FreeChlorine.High, 0.4)
	require.LessOrEqual(t, a.Predicted.FreeChlorine.High, 8.0)
	require.Contains(t, a.Retest, water.CombinedChlorine)
	r.Water.CombinedChlorine = water.Exactly(1.5) // would take 15
	a = plan(t, r)
	require.Empty(t, a.Additions)
	require.Contains(t, a.Cautions, water.Caution{Code: water.PlanDrain, Quantity: water.CombinedChlorine})
	r.Water.CombinedChlorine, r.CombinedTreated = water.Exactly(0.8), true
	require.Equal(t, water.PersonSoon, plan(t, r).Severity)
}

func TestTwoDosesWithoutRise(t *testing.T) {
	r := goodTub()
	r.Water.FreeChlorine, r.DosesWithoutRise = water.Exactly(0), 2
	r.OnHand = onHand(water.SodiumHypochlorite10)
	a := plan(t, r)
	require.Equal(t, water.PersonSoon, a.Severity)
	require.Empty(t, a.Additions)
	require.Contains(t, codes(a), water.SanitizerNotRising)
}

func TestSpoonsComeFromTheProductOnly(t *testing.T) {
	r := goodTub()
	r.Water.FreeChlorine = water.Exactly(1)
	r.OnHand = []water.Product{{Chemical: water.DichlorDihydrate}}
	require.NotEqual(t, water.LevelTeaspoon, plan(t, r).Additions[0].Measure.Unit)
	r.OnHand[0].GramsPerTeaspoon = 5
	d := plan(t, r).Additions[0]
	require.Equal(t, water.LevelTeaspoon, d.Measure.Unit)
	require.InDelta(t, 5*d.Measure.Quantity, d.Grams, 1e-9)
	require.Zero(t, math.Mod(d.Measure.Quantity, 0.25))
}

func TestOpenEndedReadings(t *testing.T) {
	r := goodTub()
	r.Water.FreeChlorine = water.Between(10, math.Inf(1))
	require.Equal(t, water.PersonSoon, plan(t, r).Severity)
	r = goodTub()
	r.Water.PH = water.Between(math.Inf(-1), 6.8)
	require.Equal(t, water.PersonSoon, plan(t, r).Severity)
}

func TestContradictingReadingsAreTestedAgain(t *testing.T) {
	r := goodTub()
	r.Water.TotalAlkalinity = water.Exactly(40)
	r.Water.CyanuricAcid = water.Exactly(90)
	r.Water.BorateB = water.Exactly(100)
	r.Water.PH = water.Exactly(8.3)
	r.OnHand = onHand(water.Chemicals()...)
	a := plan(t, r)
	require.Contains(t, codes(a), water.ReadingsContradict)
	require.Empty(t, a.Additions)
	require.False(t, a.Soak)
}

func TestShopMayTightenNotLoosen(t *testing.T) {
	tight := water.DefaultBands()
	tight.PH.SoakHigh, tight.PH.AimHigh = 7.6, 7.6
	r := goodTub()
	r.Water.PH, r.Bands = water.Exactly(7.7), &tight
	require.False(t, plan(t, r).Soak)
	loose := water.DefaultBands()
	loose.FreeChlorine.FixHigh = 20
	r.Bands = &loose
	_, err := water.Plan(r)
	require.ErrorContains(t, err, "free_chlorine")
}

func TestPlanRefusesNonsense(t *testing.T) {
	for name, spoil := range map[string]func(*water.Request){
		"ph":            func(r *water.Request) { r.Water.PH = water.Exactly(math.NaN()) },
		"volume_l":      func(r *water.Request) { r.Water.VolumeL = water.Exactly(-3) },
		"free_chlorine": func(r *water.Request) { r.Water.FreeChlorine = water.Between(5, 3) },
		"tds":           func(r *water.Request) { r.Water.TDS = water.Exactly(1e9) },
		"sanitizer":     func(r *water.Request) { r.Sanitizer = "salt" },
		"chemical":      func(r *water.Request) { r.OnHand = onHand("vinegar") },
		"grams_per_teaspoon": func(r *water.Request) {
			r.OnHand = []water.Product{{Chemical: water.Borax, GramsPerTeaspoon: -1}}
		},
	} {
		r := goodTub()
		spoil(&r)
		_, err := water.Plan(r)
		require.ErrorContains(t, err, name)
	}
}

func TestEveryCautionHasItsWords(t *testing.T) {
	for _, c := range []water.Caution{
		{Code: water.VolumeUnknown}, {Code: water.NotMeasured, Quantity: water.PH}, {Code: water.DichlorAddsCYA, Value: 2.7},
		{Code: water.MayScale, Value: 0.6}, {Code: water.BreakpointAt, Value: 8}, {Code: water.LetItFall, Quantity: water.Bromine},
	} {
		text := c.Text()
		require.NotContains(t, text, "%!")
		require.NotEqual(t, string(c.Code), text)
	}
	require.Equal(t, "new_code", water.Caution{Code: "new_code"}.Text())
}
