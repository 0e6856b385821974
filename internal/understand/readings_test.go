package understand_test

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/understand"
)

const (
	fc = understand.FreeChlorine
	ph = understand.PH
	ta = understand.TotalAlkalinity
	ch = understand.CalciumHardness
)

func asking(q ...understand.Quantity) understand.Context {
	return understand.Context{Asked: understand.AskedReadings, AskedReadings: q}
}

func TestReadings(t *testing.T) {
	for _, c := range []struct {
		text string
		ctx  understand.Context
		want string
	}{
		// Bare lists answer in the order asked.
		{"3 7.4 100", asking(fc, ph, ta), `{"free_chlorine_ppm":3,"ph":7.4,"total_alkalinity_ppm":100}`},
		{"3,7.4,100", asking(fc, ph, ta), `{"free_chlorine_ppm":3,"ph":7.4,"total_alkalinity_ppm":100}`},
		{"3 - 7,4 - 100", asking(fc, ph, ta), `{"free_chlorine_ppm":3,"ph":7.4,"total_alkalinity_ppm":100}`},
		{"5/7.2/80/250", asking(fc, ph, ta, ch), `{"calcium_hardness_ppm":250,"free_chlorine_ppm":5,"ph":7.2,"total_alkalinity_ppm":80}`},
		{"3, ?, 100", asking(fc, ph, ta), `{"free_chlorine_ppm":3,"ph":"unknown","total_alkalinity_ppm":100}`},
		// Names before and after.
		{"ph 7.4 and chlorine 3", understand.Context{}, `{"free_chlorine_ppm":3,"ph":7.4}`},
		{"7.4 ph, 3 chlorine", understand.Context{}, `{"free_chlorine_ppm":3,"ph":7.4}`},
		{"alcalinidad 110 y el cloro 2,5", understand.Context{}, `{"free_chlorine_ppm":2.5,"total_alkalinity_ppm":110}`},
		{"total chlorine 5 free 3", understand.Context{}, `{"free_chlorine_ppm":3,"total_chlorine_ppm":5}`},
		// Speech.
		{"seven point two", asking(ph), `{"ph":7.2}`},
		{"seven four and one ten", asking(ph, ta), `{"ph":7.4,"total_alkalinity_ppm":110}`},
		{"siete punto dos y ciento veinte", asking(ph, ta), `{"ph":7.2,"total_alkalinity_ppm":120}`},
		{"Chlorine to, pH seven point for", asking(fc, ph), `{"free_chlorine_ppm":2,"ph":7.4}`},
		{"one oh one", asking(understand.WaterTemp), `{"water_temp_f":101}`},
		// Ranges and open ends.
		{"7.2-7.6", asking(ph), `{"ph":[7.2,7.6]}`},
		{"between 3 and 5", asking(fc), `{"free_chlorine_ppm":[3,5]}`},
		{"off the chart, over 10", asking(fc), `{"free_chlorine_ppm":[10,null]}`},
		{"menos de 30", asking(understand.CyanuricAcid), `{"cyanuric_acid_ppm":[null,30]}`},
		// Corrections.
		{"7.2 no wait 7.4", asking(ph), `{"ph":7.4}`},
		{"ph 7.8 perdón 7.2, y alcalinidad 90", asking(ph, ta), `{"ph":7.2,"total_alkalinity_ppm":90}`},
		{"its 7.4 not 7.8", asking(ph), `{"ph":7.4}`},
		// Zero, and what could not be read.
		{"no chlorine at all, ph 7.2", asking(fc, ph), `{"free_chlorine_ppm":0,"ph":7.2}`},
		{"couldn't read the ph, alk 90", asking(ph, ta), `{"ph":"unknown","total_alkalinity_ppm":90}`},
		// Not readings of this tub now.
		{"ph 7.4 target 7.6", asking(ph), `{"ph":7.4}`},
		{"last week it was ph 7.8, now 7.4", asking(ph), `{"ph":7.4}`},
		{"the pool is 7.8 but the tub is 7.4", asking(ph), `{"ph":7.4}`},
		{"added 2 oz of chlorine, now it reads 5, ph 7.4", asking(fc, ph), `{"free_chlorine_ppm":5,"ph":7.4}`},
		{"call me at 555-0142, ph 7.4", asking(ph), `{"ph":7.4}`},
		{"ph 7.3\n\n> Please send pH. The target is 7.2 to 7.8", asking(ph), `{"ph":7.3}`},
		// Units.
		{"38.5C", asking(understand.WaterTemp), `{"water_temp_f":101.3}`},
		{"39 grados", asking(understand.WaterTemp), `{"water_temp_f":102.2}`},
		{"phosphates 300 ppb", understand.Context{}, `{"phosphate_ppb":300}`},
	} {
		m := understand.Understand(c.text, c.ctx)
		got, err := json.Marshal(m.Readings)
		require.NoError(t, err)
		require.JSONEq(t, c.want, string(got), c.text)
		require.False(t, m.Clarify, "%q: %s", c.text, m.ClarifyWhy)
	}
}

func TestReadingsThatMustBeAskedAgain(t *testing.T) {
	for _, c := range []struct {
		text string
		ctx  understand.Context
	}{
		{"ph 74", asking(ph)}, {"72", asking(ph)}, {"14", asking(ph)}, {"purple", asking(fc)}, {"looks ok to me", asking(ph, ta)},
		{"it's either 7.2 or 8.2", asking(ph)}, {"seven something", asking(ph)}, {"chlorine negative 2", asking(fc, ph)},
	} {
		m := understand.Understand(c.text, c.ctx)
		require.Empty(t, m.Readings, c.text)
		require.True(t, m.Clarify, c.text)
	}
	require.InDelta(t, 7.4, understand.Understand("ph 74", asking(ph)).Proposal["ph"], 1e-9)
}

// TestHeatThatNobodyMeasuredInTheWater holds numbers in talk of heat that are a person's,
// a setting's, a question's or a change.
func TestHeatThatNobodyMeasuredInTheWater(t *testing.T) {
	for _, text := range []string{"my daughter has a fever of 102", "temperature of 101.5, achy, dry cough", "running a temp, 101, soaked yesterday", "water dropped ten degrees overnight", "is 100 degrees alright for me?",
		"it's 104 outside today", "the heater never hit 100", "can i soak at 104?", "turned the heat up to 102"} {
		require.NotContains(t, understand.Understand(text, understand.Context{}).Readings, understand.WaterTemp, text)
	}
	for text, want := range map[string]float64{"the water is at 107": 107, "heater is stuck at 84": 84, "water 100": 100} {
		require.Equal(t, understand.Value{Low: want, High: want}, understand.Understand(text, understand.Context{}).Readings[understand.WaterTemp], text)
	}
}

// TestLengthsAreConfirmedByTheWaterTheyHold: the space within the lengths is told, and
// what an owner is asked about is the water likely in it, all of it only where the inside
// or the water was measured.
func TestLengthsAreConfirmedByTheWaterTheyHold(t *testing.T) {
	asked := understand.Context{Asked: understand.AskedVolume}
	for text, share := range map[string]float64{
		"84 x 84 x 36 inches outside": 0.4, "7 by 7 ft, 3 ft deep": 0.4, "6 ft by 6 ft inside, 3 ft deep": 1, "round, 6 ft across, 30 inches of water": 1,
	} {
		m := understand.Understand(text, asked)
		require.NotNil(t, m.Volume, text)
		require.True(t, m.Clarify, text)
		require.InDelta(t, m.Volume.LowUSGal*share, m.Proposal["us_gal"], 1, text)
	}
}

func TestVolumes(t *testing.T) {
	asked := understand.Context{Asked: understand.AskedVolume}
	for text, want := range map[string]string{
		"375":                         `{"us_gal":375}`,
		"three fifty":                 `{"us_gal":350}`,
		"1500 liters":                 `{"us_gal":396.3}`,
		"1.500 litros":                `{"us_gal":396.3}`,
		"300 imperial gallons":        `{"us_gal":360.3}`,
		"1.5 m3":                      `{"us_gal":396.3}`,
		"between 350 and 400 gallons": `{"us_gal":[350,400]}`,
		"mil trescientos litros":      `{"us_gal":343.4}`,
		"no idea":                     `"unknown"`,
		"8 gal per minute for 45 min": `{"us_gal":360}`,
		"5 gal bucket fills in 50 s and the tub took 62 minutes":                       `{"us_gal":372}`,
		"una cubeta de 20 litros se llena en un minuto y tardó hora y media en llenar": `{"us_gal":475.5}`,
		"our pool is 15000 gal, the spa is 380":                                        `{"us_gal":380}`,
		"300, no espera, son 1300 litros":                                              `{"us_gal":343.4}`,
		"84 x 84 x 36 inches":                                                          `{"dimensions":{"shape":"rectangle","length_m":2.134,"width_m":2.134,"depth_m":0.914},"us_gal":1099.6}`,
	} {
		m := understand.Understand(text, asked)
		require.NotNil(t, m.Volume, text)
		got, err := json.Marshal(m.Volume)
		require.NoError(t, err)
		require.JSONEq(t, want, string(got), text)
		require.Equal(t, m.Volume.Dimensions != nil, m.Clarify, text)
	}
	for _, text := range []string{"6 person tub", "1,350", "40000 gallons", "forty", "takes 45 min to fill"} {
		m := understand.Understand(text, asked)
		require.Nil(t, m.Volume, text)
		require.True(t, m.Clarify, text)
	}
}

func TestConfirmations(t *testing.T) {
	ctx := understand.Context{Asked: understand.AskedConfirm, Proposed: map[string]float64{"ph": 7.4}}
	for _, text := range []string{"yes", "sí", "yep", "correct", "7.4 yes", "thats right"} {
		m := understand.Understand(text, ctx)
		require.Equal(t, understand.Yes, m.Intent, text)
		require.Equal(t, understand.Value{Low: 7.4, High: 7.4}, m.Readings[ph], text)
	}
	m := understand.Understand("no it was 7.8", ctx)
	require.Equal(t, understand.Value{Low: 7.8, High: 7.8}, m.Readings[ph])
	require.Equal(t, understand.No, understand.Understand("nope", ctx).Intent)
	require.Empty(t, understand.Understand("nope", ctx).Readings)
}

func TestChoices(t *testing.T) {
	ctx := understand.Context{Asked: understand.AskedChoice, Choices: []understand.Choice{{Name: "flush_plumbing"}, {Name: "drain"}, {Name: "later", Words: []string{"not now"}}}}
	for text, want := range map[string]string{"1": "flush_plumbing", "the second": "drain", "la última": "later", "drain it": "drain", "not now": "later", "option 2 pls": "drain", "vaciarla": "drain"} {
		require.Equal(t, want, understand.Understand(text, ctx).Choice, text)
	}
	require.Equal(t, understand.StartService, understand.Understand("2", ctx).Intent)
	require.Equal(t, understand.Answer, understand.Understand("3", ctx).Intent)
	require.True(t, understand.Understand("both", ctx).Clarify)
}
