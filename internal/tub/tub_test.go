package tub_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
	"tubhand/internal/tub"
)

func TestConversions(t *testing.T) {
	// NIST Handbook 44, Appendix C: 231 cubic inches exactly, an inch being 25.4 mm.
	require.InDelta(t, 3.785411784, tub.Litres(1), 1e-9)
	require.InDelta(t, 1, tub.FromLitres(3.785411784), 1e-12)
	// The imperial gallon is 4.54609 L exactly (from memory), so 1.200950 US gallons.
	require.InDelta(t, 1.20095, tub.FromImperialGallons(1), 1e-6)
	require.InDelta(t, 4.54609, tub.Litres(tub.FromImperialGallons(1)), 1e-12)
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(0.1, tub.MaxUSGallons).Draw(t, "v")
		require.InEpsilon(t, v, tub.FromLitres(tub.Litres(v)), 1e-12)
		require.InEpsilon(t, v, tub.FromImperialGallons(tub.ImperialGallons(v)), 1e-12)
	})
}

func TestVolumeFromDimensions(t *testing.T) {
	const foot, inch = tub.MetresPerFoot, tub.MetresPerInch
	for _, c := range []struct {
		source    string
		box       tub.Box
		gallons   float64
		tolerance float64
	}{
		{"1728/231 gallons to the cubic foot, exactly (NIST Handbook 44)",
			tub.Box{tub.Rectangle, foot, foot, foot}, 1728.0 / 231, 1e-9},
		{"231 cubic inches, exactly",
			tub.Box{tub.Rectangle, 21 * inch, 11 * inch, inch}, 1, 1e-9},
		{"soaking-tub maker article, Heating Your Soaking Tub part 1",
			tub.Box{tub.Rectangle, 45 * inch, 25 * inch, 22 * inch}, 107, 0.5},
		{"operator-exam practice page, 20 ft by 5.33 ft = 12552.15 gal with 3.14 and 7.50; here at half the diameter, so a quarter",
			tub.Box{Shape: tub.Round, Length: 10 * foot, Depth: 5.33 * foot}, 12552.15 / 4, 0.003 * 12552.15 / 4},
		{"trade factor 5.9 for round and oval, feet to gallons (7.5 pi/4)",
			tub.Box{tub.Oval, 8 * foot, 6 * foot, 3 * foot}, 5.9 * 8 * 6 * 3, 0.005 * 5.9 * 8 * 6 * 3},
	} {
		got, err := c.box.USGallons()
		require.NoError(t, err, c.source)
		require.InDelta(t, c.gallons, got, c.tolerance, c.source)
	}
}

func TestAnOvalIsBetweenItsCircles(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		long := rapid.Float64Range(1, 3).Draw(t, "long")
		wide := rapid.Float64Range(1, long).Draw(t, "wide")
		oval, err := tub.Box{tub.Oval, long, wide, 1}.USGallons()
		require.NoError(t, err)
		small, _ := tub.Box{Shape: tub.Round, Length: wide, Depth: 1}.USGallons()
		big, _ := tub.Box{Shape: tub.Round, Length: long, Depth: 1}.USGallons()
		around, _ := tub.Box{tub.Rectangle, long, wide, 1}.USGallons()
		require.LessOrEqual(t, small, oval*(1+1e-12))
		require.LessOrEqual(t, oval, big*(1+1e-12))
		require.Less(t, oval, around)
	})
}

func TestFlows(t *testing.T) {
	// minutes x gallons a minute from a bucket test (common practice, no source):
	// a 5-gallon bucket in 30 s is 10 gal/min, and 41 min of it are 410 gal.
	flow, err := tub.BucketTest{USGallons: 5, Seconds: 30}.HoseFlow()
	require.NoError(t, err)
	require.InDelta(t, 10, flow, 1e-12)
	volume, err := tub.TimedFill(flow, 41*time.Minute)
	require.NoError(t, err)
	require.InDelta(t, 410, volume, 1e-9)
	fill, err := tub.FillTime(volume, flow)
	require.NoError(t, err)
	require.InDelta(t, 41, fill.Minutes(), 1e-6)
	// A mid-size tub of 400 gal in about 10 minutes (common practice): 2,400 gal/h.
	drain, err := tub.DrainTime(400, 2400)
	require.NoError(t, err)
	require.InDelta(t, 10, drain.Minutes(), 1e-6)
}

func TestHeat(t *testing.T) {
	// Home Power magazine, "Useful Conversions and Calculations": 40 gal from 60 to
	// 120 F take 20,016 Btu, 1.30 h at 4,500 W; 5,500 W are 18,766 Btu an hour.
	require.InDelta(t, 20016, tub.HeatBtu(40, 60), 1e-9)
	rate, err := tub.HeatRate(40, 4.5)
	require.NoError(t, err)
	require.InDelta(t, 1.30, 60/rate, 0.01)
	rate, err = tub.HeatRate(375, 5.5)
	require.NoError(t, err)
	require.InDelta(t, 18766, rate*tub.HeatBtu(375, 1), 1)
	require.InDelta(t, 6.0, rate, 0.05, "375 gal with 5.5 kW, derived from the same")

	heat, err := tub.HeatTime(375, 60, 102, 5.5)
	require.NoError(t, err)
	require.InDelta(t, 42/rate*(1+tub.HeatMargin), heat.Hours(), 1e-9)
	for _, warm := range []float64{102, 103, 106} {
		heat, err = tub.HeatTime(375, warm, 102, 5.5)
		require.NoError(t, err)
		require.Zero(t, heat, "water at %g F needs no heating to 102 F", warm)
	}
	_, err = tub.HeatTime(375, 32, 33, 5.5)
	require.NoError(t, err, "melt water is water")
}

func TestReplacement(t *testing.T) {
	// Maine 10-144 CMR ch. 202 Appendix B, Example 2: 600 gal with 85 bathers last 2.4
	// days (acted on as 2), with 2 bathers 100 days.
	for bathers, days := range map[float64]float64{85: 2.4, 2: 100} {
		got, err := tub.ReplacementDays(600, bathers)
		require.NoError(t, err)
		require.InDelta(t, days, got, 0.05)
	}
	_, err := tub.ReplacementDays(400, 0.01)
	require.NoError(t, err)
}

// calls are all functions that take a stranger's number, each with one value free.
var calls = map[string]func(x float64) (float64, error){
	"volume_us_gal": func(x float64) (float64, error) { return 1, tub.CheckVolume(x) },
	"length_m":      func(x float64) (float64, error) { return tub.Box{tub.Rectangle, x, 1, 1}.USGallons() },
	"width_m":       func(x float64) (float64, error) { return tub.Box{tub.Oval, 1, x, 1}.USGallons() },
	"depth_m":       func(x float64) (float64, error) { return tub.Box{tub.Round, 1, 0, x}.USGallons() },
	"bucket_us_gal": func(x float64) (float64, error) { return tub.BucketTest{x, 30}.HoseFlow() },
	"bucket_seconds": func(x float64) (float64, error) {
		return tub.BucketTest{USGallons: 5, Seconds: x}.HoseFlow()
	},
	"hose_gal_per_min":  func(x float64) (float64, error) { return span(tub.FillTime(400, x)) },
	"pump_gal_per_hour": func(x float64) (float64, error) { return span(tub.DrainTime(400, x)) },
	"heater_kw":         func(x float64) (float64, error) { return span(tub.HeatTime(400, 60, 102, x)) },
	"water_temp_f":      func(x float64) (float64, error) { return span(tub.HeatTime(400, x, 104, 5.5)) },
	"target_temp_f":     func(x float64) (float64, error) { return span(tub.HeatTime(400, 32, x, 5.5)) },
	"bathers_per_day":   func(x float64) (float64, error) { return tub.ReplacementDays(400, x) },
}

func span(d time.Duration, err error) (float64, error) { return d.Hours(), err }

func TestAbsurdInputNamesItsField(t *testing.T) {
	for field, call := range calls {
		for _, absurd := range []float64{0, -1, math.NaN(), math.Inf(1), math.Inf(-1), 1e9, math.SmallestNonzeroFloat64 * -1} {
			_, err := call(absurd)
			var fault *tub.FieldError
			require.ErrorAs(t, err, &fault, "%s = %g", field, absurd)
			require.Equal(t, field, fault.Field, "%g", absurd)
			require.Contains(t, err.Error(), field)
		}
	}
	require.ErrorContains(t, tub.CheckVolume(5000.5), "volume_us_gal")
	require.NoError(t, tub.CheckVolume(5000))
	require.EqualError(t, tub.CheckVolume(-3), `volume_us_gal: must be over 0 and at most 5000, got "-3"`)
	_, err := tub.HeatTime(400, 60, 104.1, 5.5)
	require.ErrorContains(t, err, "target_temp_f", "nobody heats past the limit")
	_, err = tub.TimedFill(10, 0)
	require.ErrorContains(t, err, "fill_minutes")
	_, err = tub.TimedFill(50, 47*time.Hour)
	require.ErrorContains(t, err, "volume_us_gal")
}

func TestShapesAndWholes(t *testing.T) {
	var fault *tub.FieldError
	_, err := tub.Box{Shape: "heart", Length: 2, Width: 2, Depth: 1}.USGallons()
	require.ErrorAs(t, err, &fault)
	require.Equal(t, "shape", fault.Field)
	_, err = tub.Box{tub.Rectangle, 9, 9, 2.5}.USGallons()
	require.ErrorAs(t, err, &fault)
	require.Equal(t, "volume_us_gal", fault.Field)
}

// Whatever is given, the answer is an error or a finite positive number.
func TestAnswersAreFinite(t *testing.T) {
	for field, call := range calls {
		rapid.Check(t, func(t *rapid.T) {
			got, err := call(rapid.Float64().Draw(t, field))
			if err != nil {
				return
			}
			require.False(t, math.IsNaN(got) || math.IsInf(got, 0) || got < 0, "%s gave %g", field, got)
			require.Less(t, got, 1e5)
		})
	}
}

func FuzzBox(f *testing.F) {
	f.Add("round", 2.0, 0.0, 0.9)
	f.Add("oval", 2.0, 1.5, math.Inf(1))
	f.Fuzz(func(t *testing.T, shape string, length, width, depth float64) {
		gallons, err := tub.Box{tub.Shape(shape), length, width, depth}.USGallons()
		if err == nil {
			require.NoError(t, tub.CheckVolume(gallons))
			return
		}
		var fault *tub.FieldError
		require.ErrorAs(t, err, &fault)
	})
}
