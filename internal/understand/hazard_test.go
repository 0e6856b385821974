package understand_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/safety"
	"tubhand/internal/understand"
)

func TestEmergencies(t *testing.T) {
	for text, want := range map[string]safety.Hazard{
		"hubby leaned over when he poured it and can't stop coughing": safety.BreathingOrGas,
		"some splashed in my eye and it burns":                        safety.EyesOrSkin,
		"my son drank some of the tub water with the stuff in it":     safety.Swallowed,
		"I got shocked when I touched the water":                      safety.ElectricShock,
		"Done! all good, just got a little zap off the rail":          safety.ElectricShock,
		"there's smoke coming out of the panel":                       safety.FireOrSmoke,
		"her hair is stuck in the drain":                              safety.Entrapment,
		"he's unconscious in the tub":                                 safety.Unresponsive,
		"I want to die":                                               safety.SelfHarm,
		"no puedo respirar bien":                                      safety.BreathingOrGas,
		"me dio toques el agua":                                       safety.ElectricShock,
	} {
		m := understand.Understand(text, understand.Context{Asked: understand.AskedDone})
		require.Equal(t, safety.Emergency, m.Severity, text)
		require.Equal(t, want, m.Hazard, text)
	}
}

func TestHarmlessTextsWithScaryWords(t *testing.T) {
	for _, text := range []string{
		"shocked the tub last night", "killed the foam", "my kids love it", "the jets are killer", "the price was a shock", "dying to get in", "the pump coughed then ran fine",
		"should I keep the dog away while it soaks?", "mis hijos la aman", "done", "3 7.4 100",
	} {
		require.Equal(t, safety.NoSeverity, understand.Understand(text, understand.Context{}).Severity, text)
	}
}

func TestExplanationNamesWhatWeighed(t *testing.T) {
	m, why := understand.BuiltIn().Explain("he can't breathe", understand.Context{})
	require.Equal(t, safety.Emergency, m.Severity)
	require.Greater(t, why.Severities[safety.Emergency], why.Severities[safety.NoSeverity])
	require.NotEmpty(t, why.Hazard)
	sum := 0.0
	for _, share := range why.Severities {
		sum += share
	}
	require.InDelta(t, 1, sum, 1e-9)
}
