package conversation

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/smstext"
	"tubhand/internal/understand"
	"tubhand/internal/water"
)

func TestMeasureIsSaidInTheOwnersLanguage(t *testing.T) {
	for _, c := range []struct {
		dose             Dose
		metric           bool
		english, spanish string
	}{
		{Dose{Amount: 3, Unit: water.LevelTeaspoon}, false, "3 level teaspoons", "3 cucharaditas rasas"},
		{Dose{Amount: 1, Unit: water.LevelTeaspoon}, false, "1 level teaspoon", "1 cucharadita rasa"},
		{Dose{Amount: 0.75, Unit: water.LevelTeaspoon}, false, "3/4 level teaspoon", "3/4 cucharadita rasa"},
		{Dose{Amount: 2.75, Unit: water.LevelTeaspoon, Grams: 13.24}, false, "2 3/4 level teaspoons (13.2 g)", "2 3/4 cucharaditas rasas (13.2 g)"},
		{Dose{Amount: 1.5, Unit: water.FluidOunce, Grams: 45}, false, "1 1/2 fl oz (45 g)", "1 1/2 fl oz (45 g)"},
		{Dose{Amount: 0.35, Unit: water.OunceWeight, Grams: 9.9}, false, "0.35 oz by weight (9.9 g)", "0.35 oz de peso (9.9 g)"},
		{Dose{Amount: 12.5, Unit: water.Gram, Grams: 12.5}, false, "12.5 g by weight", "12.5 g de peso"},
		{Dose{Unit: labelAmount, USGal: 375}, false, "the label's dose (for 375 gallons)", "la dosis de la etiqueta (para 375 galones)"},
		{Dose{Unit: labelAmount, USGal: 375}, true, "the label's dose (for 1420 liters)", "la dosis de la etiqueta (para 1420 litros)"},
		{Dose{Unit: unknownAmount}, false, "an unknown amount", "una cantidad que no sabemos"},
	} {
		require.Equal(t, c.english, english.measure(&c.dose, c.metric))
		require.Equal(t, c.spanish, spanish.measure(&c.dose, c.metric))
	}
}

func TestTimesAreSaidInTheOwnersLanguage(t *testing.T) {
	monday := time.Date(2026, 6, 15, 13, 5, 0, 0, time.UTC)
	for days, want := range map[int][2]string{
		0: {"1:05 pm", "a la 1:05 pm"},
		1: {"1:05 pm tomorrow", "mañana a la 1:05 pm"},
		2: {"Mon 1:05 pm", "el lunes a la 1:05 pm"},
	} {
		require.Equal(t, want[0], english.clock(monday, days))
		require.Equal(t, want[1], spanish.clock(monday, days))
	}
	require.Equal(t, "a las 9:42 am", spanish.clock(monday.Add(-3*time.Hour-23*time.Minute), 0))
	require.Equal(t, "They are open until 5:30 pm.", english.openUntil(17*60+30))
	require.Equal(t, "Abierto hasta las 5:30 pm.", spanish.openUntil(17*60+30))
	require.Equal(t, "They open tomorrow at 9 am.", english.opens(1, time.Tuesday, 9*60))
	require.Equal(t, "Abren mañana a las 9 am.", spanish.opens(1, time.Tuesday, 9*60))
	require.Equal(t, "Abren el miércoles a la 1 pm.", spanish.opens(3, time.Wednesday, 13*60))
	for span, want := range map[time.Duration][2]string{
		20 * time.Second:               {"1 minute", "1 minuto"},
		17*time.Minute + time.Second:   {"18 minutes", "18 minutos"},
		2*time.Hour + 20*time.Minute:   {"about 2.5 hours", "unas 2.5 horas"},
		3*time.Hour + 59*time.Minute:   {"about 4 hours", "unas 4 horas"},
		89*time.Minute + 1*time.Second: {"about 1.5 hours", "unas 1.5 horas"},
	} {
		require.Equal(t, want[0], english.span(span))
		require.Equal(t, want[1], spanish.span(span))
	}
}

func TestReadingsAreSaidInTheOwnersLanguage(t *testing.T) {
	for _, c := range []struct {
		quantity         understand.Quantity
		value            understand.Value
		english, spanish string
	}{
		{understand.PH, understand.Value{Low: 7.4, High: 7.4}, "pH 7.4", "pH 7.4"},
		{understand.FreeChlorine, understand.Value{Low: 3, High: 5}, "free chlorine 3 to 5", "cloro libre 3 a 5"},
		{understand.Bromine, understand.Value{Low: 10, OpenHigh: true}, "bromine over 10", "bromo arriba de 10"},
		{understand.TotalAlkalinity, understand.Value{High: 40, OpenLow: true}, "alkalinity under 40", "alcalinidad abajo de 40"},
		{understand.WaterTemp, understand.Value{Low: 101, High: 101}, "water temperature 101 F", "temperatura del agua 101 F"},
		{understand.PH, understand.Value{Unknown: true}, "pH not readable", "pH no se lee"},
	} {
		require.Equal(t, c.english, english.reading(c.quantity, c.value))
		require.Equal(t, c.spanish, spanish.reading(c.quantity, c.value))
	}
	require.Equal(t, "a, b and c", english.list([]string{"a", "b", "c"}))
	require.Equal(t, "a, b y c", spanish.list([]string{"a", "b", "c"}))
	require.Empty(t, spanish.list(nil))
}

func TestWhyIsSaidInTheOwnersLanguage(t *testing.T) {
	d := Dose{Why: whyStripShows, From: 3.5, Product: english.neutralizer}
	require.Equal(t, "The strip shows 3.5, it should be 0.", english.why(&d))
	require.Equal(t, "La tira marca 3.5, y debe ser 0.", spanish.why(&d))
	require.Equal(t, "un neutralizador de cloro", spanish.product(&d))
	require.Empty(t, english.why(&Dose{}))
}

// TestLanguagesHaveTheSameWords: nothing is said in one language and left out in the
// other, and all of it fits the 7-bit alphabet.
func TestLanguagesHaveTheSameWords(t *testing.T) {
	fits := func(text string) {
		require.NotEmpty(t, text)
		require.Equal(t, smstext.GSM7, smstext.EncodingOf(text), text)
	}
	for _, q := range order {
		require.Contains(t, english.names, q)
		require.Contains(t, spanish.names, q)
		fits(spanish.names[q])
	}
	require.Len(t, spanish.names, len(english.names))
	for key := range english.whys {
		fits(spanish.whys[key])
	}
	require.Len(t, spanish.whys, len(english.whys))
	for unit := range english.units {
		fits(spanish.units[unit][0])
		fits(spanish.units[unit][1])
	}
	for _, day := range []time.Weekday{0, 1, 2, 3, 4, 5, 6} {
		fits(spanish.opens(3, day, 9*60))
	}
	for _, text := range []string{
		spanish.someone, spanish.byLabel, spanish.unknown, spanish.neutralizer, spanish.unreadable,
		spanish.over, spanish.under, spanish.to, spanish.and, spanish.inRange,
	} {
		fits(text)
	}
}
