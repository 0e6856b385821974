package conversation_test

import (
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
	Shop: "Fernhollow Tub Supply & Service", Phone: "+1 (541) 555-0100", Name: "Maximiliana", Person: "Maximiliana",
	Volume: "10,000 liters", Reading: "combined chlorine 0.5 to 1.25, total alkalinity 120", Missing: "free chlorine, pH, alkalinity and water temperature",
	Flush: "Fernhollow Line Rinse", FlushDose: "18 3/4 level teaspoons", JarLeft: "18 3/4 level teaspoons",
	Dose: "18 3/4 level teaspoons", Product: "Fernhollow Chlorinating Granules", Measure: "12 3/4 level teaspoons (120.5 g)",
	Why: "The combined chlorine is high.", Until: "12:45 pm tomorrow", Left: "about 12.5 hours", Time: "3",
	Step: "the filters", Hours: "They open tomorrow at 10:30 am.", Emergency: "your local emergency number",
	Summary:   "PH 8.6 is over 8.4 and free chlorine 12.5 ppm is over 10 ppm.",
	Sanitizer: "free chlorine", Drain: "ask the Fernhollow sewer district, 541-555-0177", Next: "pump", Language: "en",
	Code: "W4KM", Owner: "+15415550142", Cause: "EMERGENCY, unresponsive or drowning",
	Text:    "a text that was cut after ninety characters so that the page stays within its two parts...",
	Waiting: "Please text what the strip shows for free chlorine, pH, alkalinity.",
}

// legal are the words that carriers and the law read as an opt-out: 47 CFR
// 64.1200(a)(10). Only the texts that say how to opt out may name one.
var legal = []string{"STOP", "QUIT", "END", "REVOKE", "CANCEL", "UNSUBSCRIBE", "OPT OUT"}

func TestEveryTextFitsTwoSegments(t *testing.T) {
	words, err := wording.Load(templates.FS)
	require.NoError(t, err)
	for _, language := range words.Languages() {
		for _, name := range words.Names(language) {
			flowName, key, _ := strings.Cut(name, "/")
			if strings.HasPrefix(key, "choices.") {
				continue
			}
			text, ok := words.Say(language, flowName, key, &widest)
			require.True(t, ok, name)
			shape := smstext.Count(text)
			require.Equal(t, smstext.GSM7, shape.Encoding, "%s %s: %s", language, name, text)
			require.LessOrEqual(t, shape.Parts, 2, "%s %s takes %d septets: %s", language, name, shape.Units, text)
			if name != "common/hello" && name != "common/help" && name != "common/wrong_number" {
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
				caution, _ := words.Say(language, name, "cautions."+s.Caution, &widest)
				text, _ := words.Say(language, name, s.WordingKey(), &widest)
				shape := smstext.Count(caution + " " + text)
				require.LessOrEqual(t, shape.Parts, 2, "%s/%s in %s: %d septets: %s %s", name, s.Name, language, shape.Units, caution, text)
			}
		}
	}
}

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
			text, ok := words.Say("en", name, s.WordingKey(), &widest)
			require.True(t, ok, "%s/%s", name, s.Name)
			switch {
			case s.Ask.Done:
				require.Contains(t, text, "DONE", "%s/%s", name, s.Name)
			case s.Ask.YesNo:
				require.Contains(t, text, "YES", "%s/%s", name, s.Name)
			case len(s.Ask.Choice) > 0:
				require.Contains(t, text, "1", "%s/%s", name, s.Name)
				require.Contains(t, text, "2", "%s/%s", name, s.Name)
			}
		}
	}
}
