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

// TestPlainWordsOfDangerAreSeenEverywhere holds that the plainest words of an emergency
// are one wherever the owner is and whatever was asked.
func TestPlainWordsOfDangerAreSeenEverywhere(t *testing.T) {
	for hazard, texts := range map[safety.Hazard][]string{
		safety.SelfHarm:       {"I want to die", "I don't want to live anymore", "I am going to kill myself", "ya no quiero vivir", "me quiero morir"},
		safety.BreathingOrGas: {"I can't breathe", "she has trouble breathing", "he can't stop coughing since he poured it", "no puedo respirar", "no para de toser con los vapores"},
		safety.Unresponsive:   {"he is unconscious", "she's not breathing", "my husband won't wake up", "she passed out in the tub", "está inconsciente", "mi papá no despierta"},
		safety.Swallowed:      {"my son swallowed some chlorine", "the baby drank some of it", "mi hijo se tomó el cloro", "se tragó una pastilla de cloro"},
		safety.EyesOrSkin:     {"it got in my eyes and burns", "chlorine in his eye", "me cayó polvo en los ojos y arde", "le salpicó ácido en el ojo"},
		safety.ElectricShock:  {"I got an electric shock from the water", "the rail shocked me", "me dio toques el agua", "siento corriente en el agua"},
		safety.Entrapment:     {"her hair is stuck in the drain", "his arm is trapped in the suction", "se le atoró el pelo en la succión"},
		safety.FireOrSmoke:    {"smoke is coming out of the panel", "the pump is on fire", "sale humo del panel", "se está quemando la bomba"},
	} {
		for _, text := range texts {
			for _, ctx := range []understand.Context{
				{}, {Asked: understand.AskedNothing, Step: "soak"}, {Asked: understand.AskedDone, Step: "add_product"}, {Asked: understand.AskedYesNo},
				{Asked: understand.AskedReadings, AskedReadings: []understand.Quantity{understand.FreeChlorine, understand.PH}}, {Asked: understand.AskedVolume},
			} {
				m := understand.Understand(text, ctx)
				require.Equal(t, safety.Emergency, m.Severity, "%q when asked for %q at %q", text, ctx.Asked, ctx.Step)
				require.Equal(t, hazard, m.Hazard, "%q when asked for %q at %q", text, ctx.Asked, ctx.Step)
			}
		}
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
