package conversation_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/safety"
	"tubhand/internal/understand"
)

// TestWhatOwnersAreToldToTextIsUnderstoodInSpanish: as in English, in our Spanish texts'
// words.
func TestWhatOwnersAreToldToTextIsUnderstoodInSpanish(t *testing.T) {
	words := map[string]understand.Intent{
		"LAVADO": understand.StartService, "PERSONA": understand.TalkToHuman, "ESPUMA": understand.FoamTooMuch,
		"PEGADO": understand.ResidueHardToWipe, "LISTO": understand.Done, "SI": understand.Yes, "NO": understand.No,
		"POR QUE": understand.QuestionWhy, "REGRESAR": understand.Undo, "CUANTO FALTA": understand.HowLongLeft,
		"INICIO": understand.ResumeMessages, "START": understand.ResumeMessages, "STOP": understand.StopMessages,
		"ALTO": understand.StopMessages,
	}
	asked := []understand.Asked{understand.AskedNothing, understand.AskedDone, understand.AskedYesNo, understand.AskedReadings, understand.AskedVolume, understand.AskedChoice}
	choices := []understand.Choice{{Name: "pump", Words: []string{"bomba"}}, {Name: "drain_hose", Words: []string{"manguera"}}, {Name: "neither", Words: []string{"ninguno"}}}
	for word, intent := range words {
		for _, kind := range asked {
			for _, step := range []string{"begin", "soak", "wipe", "heat"} {
				m := understand.Understand(word, understand.Context{Language: "es", Asked: kind, Choices: choices, Step: step})
				require.Equal(t, safety.NoSeverity, m.Severity, "%q when asked for %s at %s", word, kind, step)
				if intent == understand.No && (kind == understand.AskedReadings || kind == understand.AskedVolume) {
					continue // "no" to such a question can also mean "I have none"
				}
				require.Equal(t, intent, m.Intent, "%q when asked for %s at %s", word, kind, step)
			}
		}
	}
}
