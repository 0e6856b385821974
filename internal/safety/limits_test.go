package safety_test

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
	"tubhand/internal/safety"
)

// published reads the bounds that were published, each row with its source.
func published(t *testing.T) []map[string]string {
	t.Helper()
	file, err := os.Open("../../testdata/safety/limits.csv")
	require.NoError(t, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	var limits []map[string]string
	for _, row := range rows[1:] {
		limit := map[string]string{}
		for i, name := range rows[0] {
			limit[name] = row[i]
		}
		limits = append(limits, limit)
	}
	return limits
}

// Each bound that is not our decision stands in a published table, in the row of the
// source that the limit names.
func TestBoundsArePublished(t *testing.T) {
	of := func(quantity string) safety.Limit {
		limit, ok := safety.Default().Of(quantity)
		require.True(t, ok, quantity)
		return limit
	}
	celsius := func(f float64) float64 { return (f - 32) / 1.8 }
	rows := published(t)
	for _, c := range []struct {
		bound             float64
		parameter, source string
		column            string
	}{
		{of(safety.FreeChlorine).Soak.Low, "free_chlorine", "CDC Healthy Swimming", "min"},
		{of(safety.FreeChlorine).Soak.High, "free_chlorine", "HSG282", "max"},
		{of(safety.FreeChlorine).Soak.High, "free_chlorine", "New York", "max"},
		{of(safety.FreeChlorine).Fix.High, "free_chlorine", "Anchorage", "max"},
		{of(safety.FreeChlorine).Fix.High, "free_chlorine", "Model Aquatic Health Code", "max"},
		{of(safety.Bromine).Soak.Low, "bromine", "CDC Healthy Swimming", "min"},
		{of(safety.Bromine).Soak.High, "bromine", "CDC Hot Tub/Spa User", "max"},
		{of(safety.Bromine).Fix.High, "bromine", "Montana", "max"},
		{of(safety.PH).Aim.Low, "ph", "CDC Healthy Swimming", "min"},
		{of(safety.PH).Soak.Low, "ph", "Model Aquatic Health Code", "min"},
		{of(safety.PH).Soak.Low, "ph", "HSG282", "min"},
		{of(safety.PH).Soak.High, "ph", "CDC Healthy Swimming", "max"},
		{of(safety.CombinedChlorine).Soak.High, "combined_chlorine", "Montana", "max"},
		{of(safety.CyanuricAcid).Aim.High, "cya", "CDC Healthy Swimming", "max"},
		{of(safety.CyanuricAcid).Soak.High, "cya", "Montana", "max"},
		{of(safety.CyanuricAcid).Fix.High, "cya", "Model Aquatic Health Code", "max"},
		{of(safety.TotalAlkalinity).Soak.Low, "total_alkalinity", "Model Aquatic Health Code", "min"},
		{of(safety.TotalAlkalinity).Soak.High, "total_alkalinity", "Model Aquatic Health Code", "max"},
		{celsius(of(safety.WaterTemp).Soak.High), "temperature", "CPSC", "max"},
		// The CPSC prints 100 F and, rounded, 38 C.
		{math.Round(celsius(of(safety.WaterTemp).Aim.High)), "temperature", "CPSC Safety Rules", "max"},
	} {
		require.True(t, hasRow(rows, c.parameter, c.source, c.column, c.bound),
			"%s %s %g is in no row of %s", c.parameter, c.column, c.bound, c.source)
	}
	// Montana gives 150 to 250 as ideal and accepts up to 800 (in the row's note).
	require.Equal(t, 800.0, of(safety.CalciumHardness).Fix.High)
}

func hasRow(rows []map[string]string, parameter, source, column string, bound float64) bool {
	for _, row := range rows {
		value, err := strconv.ParseFloat(row[column], 64)
		if err == nil && row["parameter"] == parameter && strings.Contains(row["source"], source) && math.Abs(value-bound) < 1e-9 {
			return true
		}
	}
	return false
}

func TestEveryLimitIsWhole(t *testing.T) {
	all := safety.Default().All()
	require.Len(t, all, 8)
	for _, limit := range all {
		require.NotEmpty(t, limit.Name)
		require.NotEmpty(t, limit.SoakSource, limit.Quantity)
		require.NotEmpty(t, limit.FixSource, limit.Quantity)
		require.True(t, inside(limit.Aim, limit.Soak) && inside(limit.Soak, limit.Fix), limit.Quantity)
		require.Equal(t, limit.Aim != limit.Soak, limit.Note != "", "%s: what is outside the aim has a note", limit.Quantity)
		require.Equal(t, limit.GiveUp > 0, limit.GiveUpSource != "", limit.Quantity)
	}
	// The bounds that no source states are said to be our own.
	for _, quantity := range []string{safety.PH, safety.CombinedChlorine, safety.TotalAlkalinity, safety.WaterTemp} {
		limit, _ := safety.Default().Of(quantity)
		require.Equal(t, "our decision", limit.FixSource, quantity)
	}
	_, ok := safety.Default().Of("tds_ppm")
	require.False(t, ok)
	all[0].Soak.High = 99
	require.Equal(t, 5.0, safety.Default().All()[0].Soak.High, "the list given out is the caller's own")
}

func inside(inner, outer safety.Range) bool {
	return inner.Low >= outer.Low && inner.High <= outer.High
}

func at(x float64) *float64 { return &x }

func TestTightening(t *testing.T) {
	limits, err := safety.Default().Tighten(map[string]safety.Narrower{
		safety.FreeChlorine: {SoakLow: at(3.5), FixHigh: at(8), FixLow: at(0.5)},
		safety.WaterTemp:    {SoakHigh: at(102)},
		safety.PH:           {SoakLow: at(7.2)},
		safety.CyanuricAcid: {FixHigh: at(40)},
	})
	require.NoError(t, err)
	chlorine, _ := limits.Of(safety.FreeChlorine)
	require.Equal(t, safety.Range{Low: 3.5, High: 5}, chlorine.Soak)
	require.Equal(t, safety.Range{Low: 0.5, High: 8}, chlorine.Fix)
	cya, _ := limits.Of(safety.CyanuricAcid)
	require.Equal(t, 40.0, cya.Soak.High, "what is a case for a person is none for soaking")
	require.Equal(t, safety.Person, limits.Judge(good(safety.FreeChlorine, point(0.2)), "chlorine").Band)
	require.Equal(t, safety.Fix, limits.Judge(good(safety.WaterTemp, point(103)), "chlorine").Band)
	require.Equal(t, safety.Soak, safety.Default().Judge(good(safety.WaterTemp, point(103)), "chlorine").Band,
		"the limits that were tightened stay as they were")
}

func TestLooseningIsRefused(t *testing.T) {
	for name, c := range map[string]struct {
		quantity, bound string
		to              safety.Narrower
	}{
		"more chlorine":      {safety.FreeChlorine, "soak_high", safety.Narrower{SoakHigh: at(6)}},
		"less chlorine":      {safety.FreeChlorine, "soak_low", safety.Narrower{SoakLow: at(1)}},
		"hotter":             {safety.WaterTemp, "soak_high", safety.Narrower{SoakHigh: at(104.5)}},
		"much hotter":        {safety.WaterTemp, "fix_high", safety.Narrower{FixHigh: at(110)}},
		"sourer":             {safety.PH, "fix_low", safety.Narrower{FixLow: at(6.5)}},
		"not a number":       {safety.PH, "soak_low", safety.Narrower{SoakLow: at(math.NaN())}},
		"an open end":        {safety.FreeChlorine, "fix_low", safety.Narrower{FixLow: at(math.Inf(1)), FixHigh: at(math.Inf(1))}},
		"a quantity unknown": {"tds_ppm", "", safety.Narrower{SoakHigh: at(1500)}},
		"nothing to soak in": {safety.FreeChlorine, "", safety.Narrower{SoakLow: at(4.8), SoakHigh: at(4.2)}},
		"nothing once fixed": {safety.PH, "", safety.Narrower{FixLow: at(8)}},
	} {
		_, err := safety.Default().Tighten(map[string]safety.Narrower{c.quantity: c.to})
		var fault *safety.LimitError
		require.ErrorAs(t, err, &fault, name)
		require.Equal(t, c.quantity, fault.Quantity, name)
		if name != "an open end" {
			require.Equal(t, c.bound, fault.Bound, name)
		}
		require.Contains(t, err.Error(), c.quantity, name)
	}
	_, err := safety.Default().Tighten(map[string]safety.Narrower{safety.WaterTemp: {SoakHigh: at(105)}})
	require.EqualError(t, err, "water_temp_f: soak_high: 105 would loosen the limit of 104")
}

// However a shop tightens, no water is let through that the published limits stop.
func TestTighteningNeverClearsMore(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		limit := rapid.SampledFrom(safety.Default().All()).Draw(t, "limit")
		bound := func(name string) *float64 {
			if rapid.Bool().Draw(t, name+" set") {
				return nil
			}
			return at(rapid.Float64Range(0, 250).Draw(t, name))
		}
		tight, err := safety.Default().Tighten(map[string]safety.Narrower{limit.Quantity: {
			SoakLow: bound("soak_low"), SoakHigh: bound("soak_high"), FixLow: bound("fix_low"), FixHigh: bound("fix_high"),
		}})
		if err != nil {
			return
		}
		m := good(limit.Quantity, drawRange(t, 0, 250))
		loose := safety.Default().Judge(m, "chlorine")
		require.GreaterOrEqual(t, strictness(tight.Judge(m, "chlorine").Band), strictness(loose.Band))
	})
}

// strictness orders bands by what they forbid.
func strictness(b safety.Band) int {
	return map[safety.Band]int{safety.Soak: 0, safety.Unmeasured: 1, safety.Fix: 2, safety.Person: 3}[b]
}
