package conversation_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/understand"
)

// TestWhatOwnersAreToldToTextIsUnderstood: the words in capitals in our own texts mean
// what the texts say they mean, whatever was asked.
func TestWhatOwnersAreToldToTextIsUnderstood(t *testing.T) {
	words := map[string]understand.Intent{
		"FLUSH": understand.StartService, "PERSON": understand.TalkToHuman, "FOAM": understand.FoamTooMuch,
		"STUCK": understand.ResidueHardToWipe, "DONE": understand.Done, "YES": understand.Yes, "NO": understand.No,
		"WHY": understand.QuestionWhy, "BACK": understand.Undo, "HOW LONG": understand.HowLongLeft,
		"START": understand.ResumeMessages, "STOP": understand.StopMessages,
	}
	asked := []understand.Asked{understand.AskedNothing, understand.AskedDone, understand.AskedYesNo, understand.AskedReadings, understand.AskedVolume, understand.AskedChoice}
	choices := []understand.Choice{{Name: "pump"}, {Name: "drain_hose"}, {Name: "neither"}}
	for word, intent := range words {
		for _, kind := range asked {
			for _, step := range []string{"begin", "soak", "wipe", "heat"} {
				m := understand.Understand(word, understand.Context{Language: "en", Asked: kind, Choices: choices, Step: step})
				if intent == understand.No && kind == understand.AskedReadings || intent == understand.No && kind == understand.AskedVolume {
					continue // "no" to such a question can also mean "I have none"
				}
				require.Equal(t, intent, m.Intent, "%q when asked for %s at %s", word, kind, step)
			}
		}
	}
}

// TestGibberishMeansNothing: what no one can make sense of is never taken for an answer.
func TestGibberishMeansNothing(t *testing.T) {
	for _, text := range []string{"blargh", "fnord", "wibble", "asdf jkl", "qwerty", "xx", "???", "zzzz"} {
		for _, kind := range []understand.Asked{understand.AskedNothing, understand.AskedDone, understand.AskedYesNo, understand.AskedChoice} {
			m := understand.Understand(text, understand.Context{Language: "en", Asked: kind, Choices: []understand.Choice{{Name: "pump"}, {Name: "neither"}}, Step: "wipe"})
			require.NotContains(t, []understand.Intent{understand.Yes, understand.No, understand.Done, understand.StartService}, m.Intent, "%q when asked for %s", text, kind)
			require.Empty(t, m.Choice, text)
		}
	}
}
