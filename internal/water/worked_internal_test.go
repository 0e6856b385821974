package water

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// inputs are the inputs of a worked example, by name.
type inputs map[string]float64

const (
	fahrenheit = 1.8
	pound      = 453.59237 // g, exact (NIST SP 811)
)

func celsius(f float64) float64 { return (f - 32) / fahrenheit }

// grams is Amount where only the grams matter.
func grams(t *testing.T, w Water, c Chemical, q Quantity, target float64) float64 {
	t.Helper()
	w.TempC, w.TDS = 25, 500
	g, _, err := Amount(w, c, q, target)
	require.NoError(t, err)
	return g
}

// taFall is the grams of an acid for a fall of alkalinity in US gallons.
func taFall(t *testing.T, c Chemical, usGal, from, to float64) float64 {
	return grams(t, Water{VolumeL: usGal * litresPerUSGal, TotalAlkalinity: from}, c, TotalAlkalinity, to)
}

// worked computes each published example with the package's own means.
func worked(t *testing.T) map[string]func(in inputs) float64 {
	return map[string]func(in inputs) float64{
		"si-f1": func(in inputs) float64 { return FactorIndex(in["ph"], in["temp_f"], in["ch_ppm"], in["ta_ppm"], 500) },
		"si-f2": func(in inputs) float64 { return FactorIndex(in["ph"], in["temp_f"], in["ch_ppm"], in["ta_ppm"], 500) },
		"si-c1": func(in inputs) float64 {
			return CarrierIndex(in["ph"], in["temp_c"], in["ch_ppm"], in["ta_ppm"], in["tds_ppm"])
		},
		"si-t1": func(in inputs) float64 { return indexOf(t, in).StandardMethods },
		"si-t3": func(in inputs) float64 { return indexOf(t, in).StandardMethods },
		"si-fo": func(in inputs) float64 { return indexOf(t, in).Model },
		"si-dt": func(in inputs) float64 {
			warm, cool := inputs{}, inputs{}
			for k, v := range in {
				warm[k], cool[k] = v, v
			}
			cool["temp_f"], warm["temp_f"] = in["temp_f_from"], in["temp_f_to"]
			return indexOf(t, warm).Model - indexOf(t, cool).Model
		},
		"si-dl": func(in inputs) float64 {
			a := inputs{"ph": 7.5, "ta_ppm": 100, "ch_ppm": 200, "temp_c": 25}
			b := inputs{"ph": 7.5, "ta_ppm": 100, "ch_ppm": 200 * in["factor_on_ch"], "temp_c": 25}
			return indexOf(t, b).StandardMethods - indexOf(t, a).StandardMethods
		},
		"ca-1": func(in inputs) float64 { return in["ta_ppm"] - in["factor"]*in["cya_ppm"] },
		"ca-4": func(in inputs) float64 {
			_, _, borate, _, err := Alkalinities(Water{TempC: 25, PH: in["ph"], TotalAlkalinity: 100, BorateB: in["borate_ppm_b"], TDS: 500})
			require.NoError(t, err)
			return borate
		},
		"cb-1": func(in inputs) float64 { c, _ := carbonOf(in); return c },
		"cb-2": func(in inputs) float64 { _, b := carbonOf(in); return b },
		// No temperature is stated; the table fits 40 C.
		"cl-1": func(in inputs) float64 { return percent(t, in["ph"], 40) },
		"cl-2": func(in inputs) float64 { return percent(t, in["ph"], 40) },
		"cl-4": func(in inputs) float64 { return percent(t, in["ph"], 40) },
		"cl-7": func(in inputs) float64 {
			fc := in["dichlor_ppm_cl2"]
			got, err := Chlorine(Water{TempC: in["temp_c"], PH: in["ph"], FreeChlorine: fc, CyanuricAcid: CyanuricAcidFromDichlor(fc)}, Wahman)
			require.NoError(t, err)
			return got.HOCl + got.OCl
		},
		"cl-9":  func(inputs) float64 { return CyanuricAcidFromDichlor(1) * 126.05 / massCyH3 },
		"cl-11": func(in inputs) float64 { return CyanuricAcidFromDichlor(in["fc_added_ppm"]) },
		"ds-1": func(in inputs) float64 {
			return taFall(t, SodiumBisulfate, in["volume_gal"], in["ta_from"], in["ta_to"]) / pound
		},
		"ds-2": func(in inputs) float64 { return bicarbonate(t, in) / pound },
		"ds-5": func(in inputs) float64 { return bicarbonate(t, in) / pound },
		"ds-6": func(in inputs) float64 {
			w, err := Predict(Water{VolumeL: in["volume_L"], TempC: 25, TDS: 500},
				Addition{SodiumBicarbonate, 1000 * in["sodium_bicarbonate_kg"]})
			require.NoError(t, err)
			return w.TotalAlkalinity
		},
		"ds-7": func(in inputs) float64 {
			return taFall(t, MuriaticAcid3145, in["volume_gal"], 100, 100-in["ta_fall_ppm"]) / density(MuriaticAcid3145) / millilitresPerFluidOz
		},
		"ds-10": func(in inputs) float64 {
			return taFall(t, SodiumBisulfate, in["volume_gal"], 100, 100-in["ta_fall_ppm"]) / gramsPerOunce
		},
		"ds-11": func(in inputs) float64 {
			return grams(t, Water{VolumeL: in["volume_L"]}, CalciumChloride100, CalciumHardness, in["ch_rise_ppm"])
		},
		"ds-13": func(in inputs) float64 {
			combined, ok := CombinedFrom(in["fc_ppm"], in["tc_ppm"])
			require.True(t, ok)
			return combined
		},
		"ds-14": func(in inputs) float64 { return BreakpointTarget(in["cc_ppm"]) },
		"ds-15": func(in inputs) float64 {
			gramsPerLitre := 10 * in["available_pct_wv"]
			e := sodiumHypochlorite(gramsPerLitre)
			solution := in["fc_rise_ppm"] / 1000 * in["volume_L"] / (e.chlorine * massCl2)
			return solution / BleachDensity(gramsPerLitre) / 1000
		},
		"ds-16": func(in inputs) float64 {
			e := dichlor(in["available_fraction"])
			return in["fc_rise_ppm"] / 1000 * in["volume_gal"] * litresPerUSGal / (e.chlorine * massCl2) / pound
		},
		"ds-18": func(in inputs) float64 { // weight percent available, so the density is the given one
			return in["dose_gal"] * in["lb_per_gal"] * pound * in["available_pct_w"] / 100 * 1000 / (in["volume_gal"] * litresPerUSGal)
		},
		"ds-20": func(in inputs) float64 { return in["available_gpl"] / 10 },
		"ds-21": func(in inputs) float64 { return in["available_gpl"] / 10 / in["specific_gravity"] },
		"ds-23": func(in inputs) float64 { return in["naocl_wt_pct"] * massCl2 / 74.442 },
		"dc-1":  func(in inputs) float64 { return in["sample_mL"] / 1000 * in["cl2_mg_per_L"] * ThiosulfateMost },
		"dc-2": func(in inputs) float64 {
			return in["thiosulfate_pct"] / 100 * in["dose_mL"] * 1000 / (in["bottle_mL"] / 1000) / ThiosulfateMost
		},
		"wr-1": func(in inputs) float64 { return ReplacementDays(in["volume_gal"], in["bathers_per_day"]) },
		"wr-2": func(in inputs) float64 { return ReplacementDays(in["volume_gal"], in["bathers_per_day"]) },
		"wr-6": func(in inputs) float64 {
			if DrainDueByTDS(in["source_tds"], in["tub_tds"]) {
				return 1
			}
			return 0
		},
		"cv-1": func(in inputs) float64 { return in["mmol_per_L"] * massCaCO3 / 17.848 },
		"cv-3": func(in inputs) float64 { return in["ppm_caco3"] / 17.848 },
		"cv-6": func(in inputs) float64 { return in["ca_mgL"] / massCa * massCaCO3 },
		"cv-7": func(in inputs) float64 { return in["us_tsp"] * millilitresPerTeaspoon },
		"cv-8": func(in inputs) float64 { return in["us_fl_oz"] * millilitresPerFluidOz },
		"cv-9": func(in inputs) float64 { return in["us_gal"] * litresPerUSGal },
	}
}

// elsewhere are the examples that this package does not check, and why.
func elsewhere() map[string]string {
	return map[string]string{
		"ca-3": "published factor 0.17 is off: equilibrium has 0.115 at 25 C, see TestBorateShareIsNotSeventeenPercent",
		"ds-9": "the acid is not stated; the chart fits about 37 % and is 19 % under 31.45 % acid",
		"dc-4": "sodium bisulfite is not among the chemicals; the row only restates its figure",
		"th-1": "heat is package tub's", "th-2": "heat is package tub's", "th-4": "heat is package tub's",
		"vo-1": "volume is package tub's", "vo-3": "volume is package tub's",
	}
}

func bicarbonate(t *testing.T, in inputs) float64 {
	return grams(t, Water{VolumeL: in["volume_gal"] * litresPerUSGal}, SodiumBicarbonate, TotalAlkalinity, in["ta_rise_ppm"])
}

func percent(t *testing.T, ph, tempC float64) float64 {
	got, err := Chlorine(Water{PH: ph, TempC: tempC, FreeChlorine: 1}, Wahman)
	require.NoError(t, err)
	return got.HOClPercent
}

// carbonOf is the total carbonate and the bicarbonate of an example, mol/L.
func carbonOf(in inputs) (total, bicarbonate float64) {
	w := Water{PH: in["ph"], TempC: in["temp_c"], TotalAlkalinity: in["ta_ppm"], TDS: 122}
	k := constantsAt(w.TempC, Wahman)
	m := w.compose()
	var s species
	k.carbonFromPH(&m, w.PH, &s)
	return m.carbon, s.hco3
}

// indexOf is the saturation of an example in any of its spellings.
func indexOf(t *testing.T, in inputs) Indexes {
	t.Helper()
	w := Water{PH: in["ph"], TotalAlkalinity: in["ta_ppm"], CalciumHardness: in["ch_ppm"], CyanuricAcid: in["cya_ppm"], TDS: 500, TempC: in["temp_c"]}
	if f, ok := in["temp_f"]; ok {
		w.TempC = celsius(f)
	}
	if tds, ok := in["tds_ppm"]; ok {
		w.TDS = tds
	}
	if ca, ok := in["ca_mgL"]; ok {
		w.CalciumHardness = ca / massCa * massCaCO3
	}
	got, err := Index(w)
	require.NoError(t, err)
	return got
}

// TestWorkedExamples holds the package to the published examples; each carries its
// source in testdata/water/worked-examples.csv.
func TestWorkedExamples(t *testing.T) {
	f, err := os.Open(filepath.Join("..", "..", "testdata", "water", "worked-examples.csv"))
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(rows), 50)
	compute, other := worked(t), elsewhere()
	for _, r := range rows[1:] {
		id, want, tolerance := r[0], r[3], r[4]
		of, ok := compute[id]
		if !ok {
			require.NotEmpty(t, other[id], "%s is not checked and no reason is given", id)
			continue
		}
		in := inputs{}
		for _, pair := range strings.Split(r[2], ";") {
			name, value, _ := strings.Cut(pair, "=")
			if v, err := strconv.ParseFloat(value, 64); err == nil {
				in[name] = v
			}
		}
		if want == "true" {
			want = "1"
		}
		expected, err := strconv.ParseFloat(want, 64)
		require.NoError(t, err, id)
		within, err := strconv.ParseFloat(strings.TrimSuffix(tolerance, "%"), 64)
		require.NoError(t, err, id)
		if strings.HasSuffix(tolerance, "%") {
			within *= math.Abs(expected) / 100
		}
		require.InDelta(t, expected, of(in), within+1e-9, "%s: %s (%s)", id, r[1], r[5])
	}
}

func TestBorateShareIsNotSeventeenPercent(t *testing.T) {
	// A trade article (Service Industry News, 14 Sep 2021) takes 17 % of 50 mg/L boron
	// off the alkalinity at pH 7.6; equilibrium with pK 9.24 gives 0.115 at 25 C and
	// 0.144 at 38 C at an ionic strength of 0.0115.
	for _, c := range []struct{ tempC, low, high float64 }{{25, 0.105, 0.120}, {38, 0.130, 0.150}} {
		_, _, borate, _, err := Alkalinities(Water{TempC: c.tempC, PH: 7.6, TotalAlkalinity: 100, BorateB: 50, TDS: 500})
		require.NoError(t, err)
		require.Greater(t, borate/50, c.low)
		require.Less(t, borate/50, c.high)
	}
}
