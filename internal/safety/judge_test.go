package safety_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
	"tubhand/internal/safety"
	"tubhand/internal/smstext"
)

func point(x float64) safety.Range { return safety.Range{Low: x, High: x} }

func span(low, high float64) safety.Range { return safety.Range{Low: low, High: high} }

var open = math.Inf(1)

// good is a water to soak in, of a chlorine or a bromine tub, with one value changed.
func good(quantity string, value safety.Range) safety.Measured {
	return safety.Measured{Values: map[string]safety.Range{
		safety.FreeChlorine: point(4), safety.Bromine: point(5), safety.PH: point(7.4), safety.WaterTemp: point(100),
		quantity: value,
	}}
}

// Each row is a published bound or our decision, as the table of limits has it, with
// the values just inside and just outside.
func TestBandsAtTheirBounds(t *testing.T) {
	for _, c := range []struct {
		quantity string
		value    safety.Range
		band     safety.Band
		side     safety.Side
		note     bool
	}{
		{safety.FreeChlorine, point(0), safety.Fix, safety.TooLow, false},
		{safety.FreeChlorine, point(2.9), safety.Fix, safety.TooLow, false},
		{safety.FreeChlorine, point(3), safety.Soak, "", false},
		{safety.FreeChlorine, point(5), safety.Soak, "", false},
		{safety.FreeChlorine, point(5.1), safety.Fix, safety.TooHigh, false},
		{safety.FreeChlorine, point(10), safety.Fix, safety.TooHigh, false},
		{safety.FreeChlorine, point(10.1), safety.Person, safety.TooHigh, false},
		{safety.PH, point(6.5), safety.Person, safety.TooLow, false},
		{safety.PH, point(6.6), safety.Fix, safety.TooLow, false},
		{safety.PH, point(6.9), safety.Fix, safety.TooLow, false},
		{safety.PH, point(7.0), safety.Soak, safety.TooLow, true},
		{safety.PH, point(7.19), safety.Soak, safety.TooLow, true},
		{safety.PH, point(7.2), safety.Soak, "", false},
		{safety.PH, point(7.8), safety.Soak, "", false},
		{safety.PH, point(7.9), safety.Fix, safety.TooHigh, false},
		{safety.PH, point(8.4), safety.Fix, safety.TooHigh, false},
		{safety.PH, point(8.5), safety.Person, safety.TooHigh, false},
		{safety.CombinedChlorine, point(0.5), safety.Soak, "", false},
		{safety.CombinedChlorine, point(0.6), safety.Fix, safety.TooHigh, false},
		{safety.CombinedChlorine, point(2.1), safety.Person, safety.TooHigh, false},
		{safety.CyanuricAcid, point(0), safety.Soak, "", false},
		{safety.CyanuricAcid, point(30), safety.Soak, safety.TooHigh, true},
		{safety.CyanuricAcid, point(50), safety.Soak, safety.TooHigh, true},
		{safety.CyanuricAcid, point(51), safety.Fix, safety.TooHigh, false},
		{safety.CyanuricAcid, point(91), safety.Person, safety.TooHigh, false},
		{safety.TotalAlkalinity, point(39), safety.Person, safety.TooLow, false},
		{safety.TotalAlkalinity, point(40), safety.Fix, safety.TooLow, false},
		{safety.TotalAlkalinity, point(60), safety.Soak, "", false},
		{safety.TotalAlkalinity, point(180), safety.Soak, "", false},
		{safety.TotalAlkalinity, point(240), safety.Fix, safety.TooHigh, false},
		{safety.TotalAlkalinity, point(241), safety.Person, safety.TooHigh, false},
		{safety.CalciumHardness, point(20), safety.Soak, safety.TooLow, true},
		{safety.CalciumHardness, point(100), safety.Soak, "", false},
		{safety.CalciumHardness, point(500), safety.Soak, safety.TooHigh, true},
		{safety.CalciumHardness, point(800), safety.Soak, safety.TooHigh, true},
		{safety.CalciumHardness, point(801), safety.Person, safety.TooHigh, false},
		{safety.WaterTemp, point(60), safety.Soak, "", false},
		{safety.WaterTemp, point(100), safety.Soak, "", false},
		{safety.WaterTemp, point(104), safety.Soak, safety.TooHigh, true},
		{safety.WaterTemp, point(40*1.8 + 32), safety.Soak, safety.TooHigh, true}, // 40.0 C
		{safety.WaterTemp, point(104.1), safety.Fix, safety.TooHigh, false},
		{safety.WaterTemp, point(106), safety.Fix, safety.TooHigh, false},
		{safety.WaterTemp, point(106.1), safety.Person, safety.TooHigh, false},

		// Between two pads, and off the chart: any part of the range decides.
		{safety.PH, span(7.2, 7.8), safety.Soak, "", false},
		{safety.PH, span(6.8, 7.2), safety.Fix, safety.TooLow, false},
		{safety.PH, span(7.8, 8.4), safety.Fix, safety.TooHigh, false},
		{safety.PH, span(6.2, 6.8), safety.Person, safety.TooLow, false},
		{safety.PH, span(6.8, 8.2), safety.Fix, safety.BothSides, false},
		{safety.FreeChlorine, span(1, 3), safety.Fix, safety.TooLow, false},
		{safety.FreeChlorine, span(3, 5), safety.Soak, "", false},
		{safety.FreeChlorine, span(5, 10), safety.Fix, safety.TooHigh, false},
		{safety.FreeChlorine, span(10, open), safety.Person, safety.TooHigh, false},
		{safety.FreeChlorine, span(5, open), safety.Person, safety.TooHigh, false},
		{safety.FreeChlorine, span(-open, 1), safety.Fix, safety.TooLow, false},
		{safety.CombinedChlorine, span(-open, 0.5), safety.Soak, "", false},
		{safety.PH, span(-open, 6.8), safety.Person, safety.TooLow, false},
	} {
		verdict := safety.Default().Judge(good(c.quantity, c.value), "chlorine")
		finding, ok := verdict.Of(c.quantity)
		require.True(t, ok)
		require.Equal(t, c.band, finding.Band, "%s %v: %s", c.quantity, c.value, finding.Reason)
		require.Equal(t, c.band, verdict.Band, "%s %v", c.quantity, c.value)
		require.Equal(t, c.side, finding.Side, "%s %v", c.quantity, c.value)
		require.Equal(t, c.note, finding.Note, "%s %v", c.quantity, c.value)
		require.NotEmpty(t, finding.Source)
		require.NotEmpty(t, finding.Reason)
		require.Equal(t, c.value, span(finding.Low, finding.High))
	}
}

func TestBromineBands(t *testing.T) {
	for value, band := range map[float64]safety.Band{
		3.9: safety.Fix, 4: safety.Soak, 6: safety.Soak, 6.1: safety.Fix, 10: safety.Fix, 10.1: safety.Person,
	} {
		require.Equal(t, band, safety.Default().Judge(good(safety.Bromine, point(value)), "bromine").Band, "%g", value)
	}
}

func TestWhatMustBeMeasured(t *testing.T) {
	whole := good(safety.PH, point(7.4))
	for _, missing := range []string{safety.FreeChlorine, safety.PH, safety.WaterTemp} {
		m := good(safety.PH, point(7.4))
		delete(m.Values, missing)
		verdict := safety.Default().Judge(m, "chlorine")
		require.Equal(t, safety.Unmeasured, verdict.Band, missing)
		require.Equal(t, []string{missing}, verdict.Missing)
		finding, _ := verdict.Of(missing)
		require.Equal(t, safety.Unmeasured, finding.Band)
	}
	delete(whole.Values, safety.Bromine)
	require.Equal(t, safety.Soak, safety.Default().Judge(whole, "chlorine").Band)
	require.Equal(t, []string{safety.Bromine}, safety.Default().Judge(whole, "bromine").Missing,
		"chlorine does not stand in for bromine")
	require.Equal(t, safety.Unmeasured, safety.Default().Judge(good(safety.PH, point(7.4)), "").Band)
	require.Equal(t, []string{"sanitizer"}, safety.Default().Judge(good(safety.PH, point(7.4)), "salt").Missing)
	require.Equal(t, safety.Unmeasured, safety.Default().Judge(safety.Measured{}, "chlorine").Band)
	require.Equal(t, safety.Unmeasured, safety.Limits{}.Judge(whole, "chlorine").Band, "no limits clear nothing")

	for name, unreadable := range map[string]safety.Range{"not a number": point(math.NaN()), "ends crossed": span(8, 7)} {
		verdict := safety.Default().Judge(good(safety.PH, unreadable), "chlorine")
		require.Equal(t, safety.Unmeasured, verdict.Band, name)
		require.Equal(t, []string{safety.PH}, verdict.Missing, name)
	}
	m := good(safety.PH, point(8.2))
	delete(m.Values, safety.WaterTemp)
	verdict := safety.Default().Judge(m, "chlorine")
	require.Equal(t, safety.Fix, verdict.Band, "a fault that is known outweighs a value that is not")
	require.Equal(t, []string{safety.WaterTemp}, verdict.Missing)
}

func TestTheOtherSanitizerCountsOnlyWhenHigh(t *testing.T) {
	require.Equal(t, safety.Soak, safety.Default().Judge(good(safety.Bromine, point(0)), "chlorine").Band)
	require.Equal(t, safety.Person, safety.Default().Judge(good(safety.Bromine, point(20)), "chlorine").Band)
	require.Equal(t, safety.Soak, safety.Default().Judge(good(safety.FreeChlorine, point(0)), "bromine").Band)
	require.Equal(t, safety.Fix, safety.Default().Judge(good(safety.FreeChlorine, point(7)), "bromine").Band)
}

func TestWhatTheEyeSees(t *testing.T) {
	m := good(safety.PH, point(7.4))
	m.Clear = safety.Clear
	require.Equal(t, safety.Soak, safety.Default().Judge(m, "chlorine").Band)
	m.Clear = safety.Cloudy
	require.Equal(t, safety.Fix, safety.Default().Judge(m, "chlorine").Band)
	m.Ill = true
	verdict := safety.Default().Judge(m, "chlorine")
	require.Equal(t, safety.Person, verdict.Band)
	ill, ok := verdict.Of(safety.IllnessFinding)
	require.True(t, ok)
	require.Contains(t, ill.Reason, "do not drain")
	_, ok = verdict.Of(safety.TotalAlkalinity)
	require.False(t, ok, "what was not measured and is not required has no finding")
}

func TestWhatDoesNotAnswerToTreatment(t *testing.T) {
	for _, c := range []struct {
		quantity string
		value    float64
		tried    int
		band     safety.Band
	}{
		{safety.FreeChlorine, 1, 1, safety.Fix},
		{safety.FreeChlorine, 1, 2, safety.Person},
		{safety.FreeChlorine, 7, 5, safety.Fix}, // too high is waited out, however often
		{safety.FreeChlorine, 4, 5, safety.Soak},
		{safety.CombinedChlorine, 1, 0, safety.Fix},
		{safety.CombinedChlorine, 1, 1, safety.Person},
		{safety.WaterTemp, 105, 0, safety.Fix},
		{safety.WaterTemp, 105, 1, safety.Person},
		{safety.PH, 8.2, 9, safety.Fix},
	} {
		m := good(c.quantity, point(c.value))
		m.Tried = map[string]int{c.quantity: c.tried}
		verdict := safety.Default().Judge(m, "chlorine")
		require.Equal(t, c.band, verdict.Band, "%s %g after %d", c.quantity, c.value, c.tried)
	}
	m := good(safety.Bromine, point(1))
	m.Tried = map[string]int{safety.Bromine: 2}
	verdict := safety.Default().Judge(m, "bromine")
	finding, _ := verdict.Of(safety.Bromine)
	require.Equal(t, safety.Person, finding.Band)
	require.Contains(t, finding.Source, "our decision")
	require.Contains(t, finding.Reason, "treatment did not help")
}

func TestReasonsReadPlainly(t *testing.T) {
	for _, c := range []struct {
		quantity string
		value    safety.Range
		reason   string
	}{
		{safety.FreeChlorine, point(2), "free chlorine 2 ppm is under 3 ppm"},
		{safety.FreeChlorine, span(1, 3), "free chlorine 1 to 3 ppm may be under 3 ppm"},
		{safety.FreeChlorine, span(10, open), "free chlorine 10 ppm or more may be over 10 ppm"},
		{safety.FreeChlorine, span(-open, 1), "free chlorine up to 1 ppm is under 3 ppm"},
		{safety.PH, point(7.1), "pH 7.1 is under 7.2: soaking is allowed; raise it a little"},
		{safety.PH, span(6.8, 8.2), "pH 6.8 to 8.2 may be outside 7 to 7.8"},
		{safety.PH, point(7.4), "pH 7.4 is in the range to soak in"},
		{safety.WaterTemp, point(106.88), "water temperature 106.88 F is over 106 F"},
	} {
		finding, _ := safety.Default().Judge(good(c.quantity, c.value), "chlorine").Of(c.quantity)
		require.Equal(t, c.reason, finding.Reason)
	}
	for _, c := range []struct {
		quantity string
		value    safety.Range
		reason   string
	}{
		{safety.FreeChlorine, point(2), "cloro libre 2 ppm queda abajo de 3 ppm"},
		{safety.FreeChlorine, span(10, open), "cloro libre 10 ppm o mayor puede pasar de 10 ppm"},
		{safety.PH, point(7.1), "pH 7.1 queda abajo de 7.2: se puede entrar; hay que subirlo un poco"},
	} {
		finding, _ := safety.Default().Judge(good(c.quantity, c.value), "chlorine").Of(c.quantity)
		require.Equal(t, c.reason, finding.In("es"))
		require.Equal(t, finding.Reason, finding.In("en"))
	}
	require.Equal(t, []string{"unmeasured", "soak", "fix", "person"},
		[]string{safety.Unmeasured.String(), safety.Soak.String(), safety.Fix.String(), safety.Person.String()})
}

// drawRange draws a value or a range, now and then with an open end.
func drawRange(t *rapid.T, low, high float64) safety.Range {
	a := rapid.Float64Range(low, high).Draw(t, "low end")
	b := rapid.Float64Range(a, high).Draw(t, "high end")
	switch rapid.IntRange(0, 9).Draw(t, "open") {
	case 0:
		a = -open
	case 1:
		b = open
	}
	return span(a, b)
}

func drawMeasured(t *rapid.T) safety.Measured {
	m := safety.Measured{
		Values: map[string]safety.Range{},
		Clear:  rapid.SampledFrom([]safety.Clarity{safety.ClarityUnknown, safety.Clear, safety.Cloudy}).Draw(t, "clear"),
	}
	for _, limit := range safety.Default().All() {
		if rapid.IntRange(0, 4).Draw(t, "measured") > 0 {
			top := map[string]float64{safety.PH: 9, safety.WaterTemp: 110, safety.FreeChlorine: 12, safety.Bromine: 12,
				safety.CombinedChlorine: 3}[limit.Quantity]
			m.Values[limit.Quantity] = drawRange(t, 0, max(top, 12))
		}
	}
	return m
}

// The promise of the package: nobody is cleared unless everything required is measured
// and the whole of every value lies in its first band.
func TestNobodyIsClearedByChance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawMeasured(t)
		if rapid.Bool().Draw(t, "mostly good") {
			m = good(safety.TotalAlkalinity, drawRange(t, 0, 300))
		}
		verdict := safety.Default().Judge(m, "chlorine")
		if verdict.Band != safety.Soak {
			return
		}
		require.Empty(t, verdict.Missing)
		require.NotEqual(t, safety.Cloudy, m.Clear)
		for _, quantity := range []string{safety.FreeChlorine, safety.PH, safety.WaterTemp} {
			require.Contains(t, m.Values, quantity)
		}
		for quantity, value := range m.Values {
			limit, _ := safety.Default().Of(quantity)
			if quantity == safety.Bromine {
				limit.Soak.Low = -open
			}
			require.True(t, inside(value, limit.Soak), "%s %v", quantity, value)
		}
	})
}

// Knowing less never clears more: a wider range is judged at least as strictly.
func TestAWiderRangeIsNeverJudgedMilder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		limit := rapid.SampledFrom(safety.Default().All()).Draw(t, "limit")
		narrow := drawRange(t, 0, 250)
		wide := span(narrow.Low-rapid.Float64Range(0, 20).Draw(t, "down"), narrow.High+rapid.Float64Range(0, 20).Draw(t, "up"))
		first := safety.Default().Judge(good(limit.Quantity, narrow), "chlorine")
		second := safety.Default().Judge(good(limit.Quantity, wide), "chlorine")
		require.GreaterOrEqual(t, strictness(second.Band), strictness(first.Band))
	})
}

func TestReasonsCanBeTexted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawMeasured(t)
		m.Ill = rapid.Bool().Draw(t, "ill")
		m.Tried = map[string]int{safety.FreeChlorine: 2, safety.CombinedChlorine: 1}
		for _, finding := range safety.Default().Judge(m, "chlorine").Findings {
			for _, lang := range languages {
				reason := finding.In(lang)
				require.Greater(t, len(reason), 10)
				require.Equal(t, smstext.GSM7, smstext.EncodingOf(reason), reason)
				require.NotContains(t, reason, "Inf")
			}
			require.NotEqual(t, finding.In("en"), finding.In("es"))
		}
	})
}

func TestJudgeIsTheSameEveryTime(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawMeasured(t)
		first := safety.Default().Judge(m, "bromine")
		for range 5 {
			require.Equal(t, first, safety.Default().Judge(m, "bromine"))
		}
	})
}
