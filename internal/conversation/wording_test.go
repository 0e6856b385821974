package conversation_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/flows"
	"tubhand/internal/flow"
	"tubhand/internal/smstext"
	"tubhand/internal/wording"
	"tubhand/templates"
)

// widest holds the longest words that any shop and tub can put into a text.
var widest = wording.Words{
	Shop: "Fernhollow Tub Supply & Service", Phone: "+1 (541) 555-0100", Person: "Maximiliana",
	Volume: "10,000 liters", Reading: "combined chlorine 0.5 to 1.25, total alkalinity 120", Missing: "free chlorine, pH, alkalinity and water temperature",
	Flush: "Fernhollow Line Rinse", FlushDose: "18 3/4 level teaspoons", JarLeft: "18 3/4 level teaspoons",
	Dose: "18 3/4 level teaspoons", Product: "Fernhollow Chlorinating Granules", Measure: "the label's dose (for 10000 liters)",
	Why: "The combined chlorine is high.", Until: "12:45 pm tomorrow", Left: "about 12.5 hours", Time: "3",
	Hours: "They open tomorrow at 10:30 am.", Emergency: "your local emergency number",
	Summary:   "PH 8.6 is over 8.4 and free chlorine 12.5 ppm is over 10 ppm.",
	Sanitizer: "free chlorine, total chlorine", Like: "4 4 7.4 100 101", Share: "65 %", ShareVolume: "10,000 liters", Drain: "ask the Fernhollow sewer district, 541-555-0177", Next: "pump", Hottest: "103.5 F",
	Code: "W4KM", Owner: "+15415550142", Cause: "EMERGENCY, unresponsive or drowning",
	Text:  "a text that was cut after ninety characters so that the page stays within its two parts...",
	Chore: "soaking the filters", Day: "Wednesday September 30 at 10:45 am",
	Waiting: "Please text what the strip shows for free chlorine, pH, alkalinity.",
}

// wide gives the widest words of a language.
func wide(language string) *wording.Words {
	w := widest
	if language != "es" {
		return &w
	}
	w.Volume, w.Missing, w.Sanitizer = "10000 litros", "cloro libre, pH, alcalinidad y temperatura del agua", "cloro libre, cloro total"
	w.Reading = "cloro combinado 0.5 a 1.25, alcalinidad 120"
	w.FlushDose, w.JarLeft, w.Dose = "18 3/4 cucharaditas rasas", "18 3/4 cucharaditas rasas", "18 3/4 cucharaditas rasas"
	w.Measure, w.Why = "la dosis de la etiqueta (para 10000 litros)", "El agua tiene mucho cloro combinado."
	w.Until, w.Left, w.Emergency = "mañana a las 12:45 pm", "unas 12.5 horas", "a emergencias"
	w.Hours = "Abren el miércoles a las 10:30 am."
	w.Summary = "PH 8.6 pasa de 8.4 y cloro libre 12.5 ppm pasa de 10 ppm."
	w.Chore, w.Day = "el lavado a fondo de los filtros", "el miércoles 30 de septiembre a las 10:45 am"
	w.Waiting = "Por favor mande lo que marca la tira para cloro libre, pH y alcalinidad."
	return &w
}

// legal are the words that carriers and the law read as an opt-out: 47 CFR
// 64.1200(a)(10), and those of Spanish programmes, ALTO first (common practice, no
// source). Only the texts that say how to opt out may name one.
var legal = []string{
	"STOP", "QUIT", "END", "REVOKE", "CANCEL", "UNSUBSCRIBE", "OPT OUT",
	"ALTO", "PARAR", "PARE", "BAJA", "CANCELAR", "FIN", "BASTA", "TERMINAR", "SALIR", "DETENER",
}

// tellOfStop are the texts that say how to opt out.
var tellOfStop = []string{"common/hello", "common/hello.mail", "common/help", "common/wrong_number", "common/months.yes", "common/months.due", "calendar/due"}

func TestEveryTextFitsTwoSegments(t *testing.T) {
	words, err := wording.Load(templates.FS)
	require.NoError(t, err)
	for _, language := range words.Languages() {
		for _, name := range words.Names(language) {
			flowName, key, _ := strings.Cut(name, "/")
			if strings.HasPrefix(key, "choices.") {
				continue
			}
			text, ok := words.Say(language, flowName, key, wide(language))
			require.True(t, ok, name)
			shape := smstext.Count(text)
			require.Equal(t, smstext.GSM7, shape.Encoding, "%s %s: %s", language, name, text)
			require.LessOrEqual(t, shape.Parts, 2, "%s %s takes %d septets: %s", language, name, shape.Units, text)
			if !slices.Contains(tellOfStop, name) {
				for _, word := range legal {
					require.NotContains(t, strings.Fields(strings.NewReplacer(".", " ", ",", " ", ":", " ").Replace(text)), word, name)
				}
			}
		}
	}
}

// TestCautionsFitWithTheirTexts holds the two-segment limit for what is said on entry.
func TestCautionsFitWithTheirTexts(t *testing.T) {
	words, err := wording.Load(templates.FS)
	require.NoError(t, err)
	set, err := flow.Load(flows.FS)
	require.NoError(t, err)
	for _, name := range set.Names() {
		f, _ := set.Flow(name)
		for _, s := range f.States {
			if s.Caution == "" {
				continue
			}
			for _, language := range words.Languages() {
				caution, _ := words.Say(language, name, "cautions."+s.Caution, wide(language))
				text, _ := words.Say(language, name, s.WordingKey(), wide(language))
				shape := smstext.Count(caution + " " + text)
				require.LessOrEqual(t, shape.Parts, 2, "%s/%s in %s: %d septets: %s %s", name, s.Name, language, shape.Units, caution, text)
			}
		}
	}
}

// answers are the words that texts ask for: done, yes.
var answers = map[string][2]string{"en": {"DONE", "YES"}, "es": {"LISTO", "SI"}}

// TestWordsSayWhatOwnersReplyTo keeps a text's advice to reply in step with what its
// state takes: who is told to say YES is asked yes or no.
func TestWordsSayWhatOwnersReplyTo(t *testing.T) {
	words, err := wording.Load(templates.FS)
	require.NoError(t, err)
	set, err := flow.Load(flows.FS)
	require.NoError(t, err)
	for _, name := range set.Names() {
		f, _ := set.Flow(name)
		for _, s := range f.States {
			for _, language := range words.Languages() {
				text, ok := words.Say(language, name, s.WordingKey(), wide(language))
				require.True(t, ok, "%s/%s", name, s.Name)
				asks(t, s, text, language)
			}
		}
	}
}

func asks(t *testing.T, s *flow.State, text, language string) {
	t.Helper()
	switch {
	case s.Ask.Done:
		require.Contains(t, text, answers[language][0], "%s in %s", s.Name, language)
	case s.Ask.YesNo:
		require.Regexp(t, `\b`+answers[language][1]+`\b`, text, "%s in %s", s.Name, language)
	case len(s.Ask.Choice) > 0:
		require.Contains(t, text, "1", "%s in %s", s.Name, language)
		require.Contains(t, text, "2", "%s in %s", s.Name, language)
	}
}
