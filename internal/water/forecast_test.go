package water_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/water"
)

// monday is a day to start logs on.
func monday() time.Time { return time.Date(2026, time.June, 15, 8, 0, 0, 0, time.UTC) }

// homeTub is 1,400 L kept with chlorine.
func homeTub() water.Tub {
	return water.Tub{VolumeL: water.Exactly(1400), Sanitizer: water.ByChlorine}
}

// testStrip is a full test read as numbers.
func testStrip(fc, ph, ta, ch, cya float64) water.Readings {
	return water.Readings{
		FreeChlorine: water.Exactly(fc), PH: water.Exactly(ph), TotalAlkalinity: water.Exactly(ta),
		CalciumHardness: water.Exactly(ch), CyanuricAcid: water.Exactly(cya), TempC: water.Exactly(38),
	}
}

func forecast(t *testing.T, log []water.Entry, tub water.Tub, at time.Time) water.Readings {
	t.Helper()
	got, err := water.Forecast(log, tub, at)
	require.NoError(t, err)
	return got
}

// holds says that a forecast contains a value.
func holds(t *testing.T, r water.Reading, v float64, what string) {
	t.Helper()
	require.True(t, r.Known, what)
	require.LessOrEqual(t, r.Low, v, what)
	require.GreaterOrEqual(t, r.High, v, what)
}

func TestForecastOfNothing(t *testing.T) {
	require.Equal(t, water.Readings{VolumeL: water.Exactly(1400)}, forecast(t, nil, homeTub(), monday()))
}

func TestDichlorBuildsUpCyanuricAcid(t *testing.T) {
	// A tub that takes 3 mg/L of chlorine a day from dichlor has 30 mg/L of cyanuric
	// acid after 11 days: 0.91 x 3 x 11.
	log := []water.Entry{{At: monday(), Read: testStrip(3, 7.5, 100, 150, 0)}}
	grams, _, err := water.Amount(water.Water{VolumeL: 1400}, water.DichlorDihydrate, water.FreeChlorine, 3)
	require.NoError(t, err)
	for day := range 11 {
		log = append(log, water.Entry{
			At:    monday().AddDate(0, 0, day).Add(time.Hour),
			Added: []water.Addition{{Chemical: water.DichlorDihydrate, Grams: grams}},
		})
	}
	got := forecast(t, log, homeTub(), monday().AddDate(0, 0, 11))
	holds(t, got.CyanuricAcid, 30, "cyanuric acid")
	require.Greater(t, got.CyanuricAcid.Low, 20.0)
}

func TestForecastFollowsAcidAndDecay(t *testing.T) {
	log := []water.Entry{
		{At: monday(), Read: testStrip(5, 8.0, 120, 150, 0)},
		{At: monday().Add(time.Minute), Added: []water.Addition{{Chemical: water.SodiumBisulfate, Grams: 25}}},
	}
	got := forecast(t, log, homeTub(), monday().Add(31*time.Minute))
	after, err := water.Predict(water.Water{VolumeL: 1400, TempC: 38, PH: 8.0, TotalAlkalinity: 120, CalciumHardness: 150, TDS: 600},
		water.Addition{Chemical: water.SodiumBisulfate, Grams: 25})
	require.NoError(t, err)
	holds(t, got.PH, after.PH, "pH after acid")
	holds(t, got.TotalAlkalinity, after.TotalAlkalinity, "alkalinity after acid")
	require.Less(t, got.PH.High-got.PH.Low, 1.0, "still worth something")
	later := forecast(t, log, homeTub(), monday().Add(48*time.Hour))
	require.Less(t, later.FreeChlorine.High, got.FreeChlorine.High)
	require.Greater(t, later.TotalAlkalinity.High-later.TotalAlkalinity.Low, got.TotalAlkalinity.High-got.TotalAlkalinity.Low, "doubt grows")
}

func TestForecastIsSettledByAReading(t *testing.T) {
	log := []water.Entry{
		{At: monday().Add(time.Hour), Read: water.Readings{PH: water.Between(7.2, 7.4)}},
		{At: monday(), Read: testStrip(5, 8.0, 120, 150, 0)}, // out of order
		{At: monday().Add(48 * time.Hour), Read: water.Readings{PH: water.Exactly(6.8)}},
	}
	got := forecast(t, log, homeTub(), monday().Add(time.Hour))
	require.Equal(t, water.Between(7.2, 7.4), got.PH, "the last reading up to then, not the one to come")
	holds(t, got.TotalAlkalinity, 120, "alkalinity")
}

func TestJetsLiftThePH(t *testing.T) {
	log := []water.Entry{
		{At: monday(), Read: testStrip(4, 7.2, 100, 150, 0)},
		{At: monday().Add(time.Hour), JetsFor: 30 * time.Minute, Uncovered: 30 * time.Minute},
	}
	before := forecast(t, log[:1], homeTub(), monday().Add(time.Hour))
	after := forecast(t, log, homeTub(), monday().Add(time.Hour))
	require.Greater(t, after.PH.High, before.PH.High)
	require.Greater(t, after.PH.Low, before.PH.Low)
}

func TestRefillBringsFillWater(t *testing.T) {
	tub := homeTub()
	tub.Fill = water.Readings{
		CalciumHardness: water.Exactly(80), TotalAlkalinity: water.Exactly(60), PH: water.Exactly(7.6), TDS: water.Exactly(200),
	}
	log := []water.Entry{
		{At: monday(), Read: testStrip(4, 7.4, 120, 300, 60)},
		{At: monday().Add(time.Hour), Replaced: 0.5},
	}
	got := forecast(t, log, tub, monday().Add(time.Hour))
	holds(t, got.CalciumHardness, 190, "half of each")
	holds(t, got.CyanuricAcid, 30, "half of the cyanuric acid")
	holds(t, got.PH, 7.5, "between the two")
	log[1].Replaced = 1
	got = forecast(t, log, tub, monday().Add(time.Hour))
	require.InDelta(t, 80, got.CalciumHardness.Low, 1)
	require.Less(t, got.CyanuricAcid.High, 1.0)
	tub.Fill = water.Readings{}
	got = forecast(t, log, tub, monday().Add(time.Hour))
	require.False(t, got.PH.Known, "a fill water nobody read has no pH")
	require.Greater(t, got.CalciumHardness.High-got.CalciumHardness.Low, 300.0)
}

func TestForecastRefusals(t *testing.T) {
	tub := homeTub()
	tub.VolumeL = water.Reading{}
	log := []water.Entry{{At: monday(), Added: []water.Addition{{Chemical: water.Borax, Grams: 10}}}}
	_, err := water.Forecast(log, tub, monday())
	require.ErrorIs(t, err, water.ErrUnknownVolume)
	log[0].Added[0].Chemical = "vinegar"
	_, err = water.Forecast(log, homeTub(), monday())
	require.ErrorContains(t, err, "vinegar")
	_, err = water.Forecast([]water.Entry{{At: monday(), Read: water.Readings{PH: water.Exactly(70)}}}, homeTub(), monday())
	require.ErrorContains(t, err, "ph")
}

func TestDoubts(t *testing.T) {
	quiet := []water.Entry{{At: monday(), Read: testStrip(4, 7.5, 100, 150, 20)}}
	shocked := append(quiet[:1:1], water.Entry{
		At: monday().Add(time.Hour), Added: []water.Addition{{Chemical: water.SodiumHypochlorite125, Grams: 250}},
	})
	at := monday().Add(2 * time.Hour)
	for _, c := range []struct {
		name   string
		log    []water.Entry
		read   water.Readings
		of     water.Quantity
		reason water.Reason
	}{
		{"hardness cannot jump", quiet, water.Readings{CalciumHardness: water.Exactly(400)}, water.CalciumHardness, water.JumpedUp},
		{"alkalinity cannot vanish", quiet, water.Readings{TotalAlkalinity: water.Exactly(20)}, water.TotalAlkalinity, water.JumpedDown},
		{"chlorine cannot come from nowhere", quiet, water.Readings{FreeChlorine: water.Exactly(9)}, water.FreeChlorine, water.JumpedUp},
		{"a bleached pad", shocked, water.Readings{FreeChlorine: water.Exactly(0)}, water.FreeChlorine, water.MaybeBleached},
		{"pH cannot fall by one", quiet, water.Readings{PH: water.Exactly(6.4)}, water.PH, water.JumpedDown},
		{"alkalinity under its cyanurate", nil, water.Readings{
			PH: water.Exactly(8), TotalAlkalinity: water.Exactly(10), CyanuricAcid: water.Exactly(150),
		}, water.TotalAlkalinity, water.Contradicts},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := water.Doubts(c.log, homeTub(), c.read, at)
			require.NoError(t, err)
			require.Len(t, got, 1)
			require.Equal(t, c.of, got[0].Quantity)
			require.Equal(t, c.reason, got[0].Reason)
		})
	}
	for name, read := range map[string]water.Readings{
		"the same again":       testStrip(4, 7.5, 100, 150, 20),
		"chlorine used up":     testStrip(0, 7.5, 100, 150, 20),
		"a pad's step":         testStrip(3, 7.7, 120, 180, 30),
		"nothing read":         {},
		"something never read": {TDS: water.Exactly(900)},
	} {
		got, err := water.Doubts(quiet, homeTub(), read, at)
		require.NoError(t, err)
		require.Empty(t, got, name)
	}
	_, err := water.Doubts(quiet, homeTub(), water.Readings{PH: water.Exactly(-4)}, at)
	require.ErrorContains(t, err, "ph")
}

func BenchmarkForecastOfAQuarter(b *testing.B) {
	var log []water.Entry
	for day := range 90 {
		log = append(log, water.Entry{
			At: monday().AddDate(0, 0, day), Read: testStrip(3, 7.5, 100, 150, 20),
			Added: []water.Addition{{Chemical: water.DichlorDihydrate, Grams: 8}},
		})
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := water.Forecast(log, homeTub(), monday().AddDate(0, 0, 91)); err != nil {
			b.Fatal(err)
		}
	}
}
