package safety_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"tubhand/internal/safety"
	"tubhand/internal/smstext"
)

var (
	languages = []string{"en", "es"}
	// Every row of the table of numbers, the unknown region, and no region at all.
	regions = []string{"US", "PR", "CA", "MX", "CO", "AR", "GB", "IE", "ES", "DE", "FR", "NL", "CH", "AU", "NZ", "ZZ", ""}
)

// each calls f with what every hazard gets, in each severity, language and region.
func each(f func(h safety.Hazard, s safety.Severity, lang string, lines safety.Lines, text, again string)) {
	for _, h := range safety.Hazards() {
		for _, s := range safety.Severities(h) {
			for _, lang := range languages {
				for _, region := range regions {
					lines := safety.LinesFor(region)
					text, again := safety.Response(h, s, lang, lines)
					f(h, s, lang, lines, text, again)
				}
			}
		}
	}
}

func TestEveryAnswerFitsItsMessage(t *testing.T) {
	each(func(h safety.Hazard, s safety.Severity, lang string, lines safety.Lines, text, again string) {
		shape := smstext.Count(text)
		require.Equal(t, smstext.GSM7, shape.Encoding, "%s %s %s: %s", h, s, lang, text)
		require.LessOrEqual(t, shape.Parts, 2, "%s %s %s: %d septets: %s", h, s, lang, shape.Units, text)
		once := smstext.Count(again)
		require.Equal(t, smstext.GSM7, once.Encoding, "%s %s %s: %s", h, s, lang, again)
		require.Equal(t, 1, once.Parts, "%s %s %s: %d septets: %s", h, s, lang, once.Units, again)
		require.Less(t, once.Units, shape.Units, "what is repeated is shorter")
		for _, said := range []string{text, again} {
			require.NotContains(t, said, "{", "%s %s %s", h, s, lang)
			require.NotContains(t, said, "  ", "%s %s %s", h, s, lang)
			require.True(t, strings.HasSuffix(said, "."), said)
		}
	})
}

// What must be said first: the act that saves life, as its own words.
var lifeSaving = map[safety.Hazard]map[string]string{
	safety.BreathingOrGas:     {"en": "into fresh air now", "es": "al aire libre ya"},
	safety.EyesOrSkin:         {"en": "Rinse with running water now, for 15 minutes", "es": "Enjuague ya con agua corriente, 15 minutos"},
	safety.Swallowed:          {"en": "Do not make them vomit", "es": "No haga que vomite"},
	safety.ElectricShock:      {"en": "out of the water now. Do not touch it", "es": "Salgan todos del agua ya. No toquen el agua"},
	safety.Unresponsive:       {"en": "Get their face out of the water now", "es": "Saque la cara del agua ya"},
	safety.Entrapment:         {"en": "Turn the jets off now, or cut the power", "es": "Apague los chorros ya, o corte la corriente"},
	safety.Overheating:        {"en": "out of the water now", "es": "del agua ya"},
	safety.ChemicalMixing:     {"en": "into fresh air now", "es": "al aire libre ya"},
	safety.FireOrSmoke:        {"en": "well away from the tub now", "es": "lejos de la tina ya"},
	safety.ChildOrPetInDanger: {"en": "Get child or pet out of the water", "es": "Saque ya al niño o mascota del agua"},
	safety.SelfHarm:           {"en": "I am so glad you told me", "es": "Gracias por contarme"},
}

// With two parts the first holds 153 septets, so what is in them arrives first.
func TestAnEmergencyOpensWithWhatSavesLife(t *testing.T) {
	each(func(h safety.Hazard, s safety.Severity, lang string, lines safety.Lines, text, again string) {
		if s != safety.Emergency {
			return
		}
		must := lifeSaving[h][lang]
		require.NotEmpty(t, must, "%s has no life-saving act to look for", h)
		first := smstext.Split(text, smstext.Header8)[0]
		require.Contains(t, first, must)
		require.Contains(t, first, helpIn(h, lang, lines), "%s %s: %s", h, lang, first)
		require.Contains(t, again, helpIn(h, lang, lines), "%s %s: %s", h, lang, again)
	})
}

// helpIn is the number, or the words for it, that an emergency must name early: for
// talk of self-harm that of those who listen.
func helpIn(h safety.Hazard, lang string, lines safety.Lines) string {
	switch {
	case h == safety.SelfHarm && lines.Crisis != "":
		return lines.Crisis
	case lines.Emergency != safety.LocalEmergency:
		return lines.Emergency
	case lang == "es":
		return "emergencias"
	}
	return safety.LocalEmergency
}

func TestEveryEmergencyNamesTheEmergencyNumber(t *testing.T) {
	each(func(h safety.Hazard, s safety.Severity, lang string, lines safety.Lines, text, again string) {
		if s != safety.Emergency {
			return
		}
		require.Contains(t, text, helpIn(safety.NoHazard, lang, lines), "%s %s", h, lang)
		require.Contains(t, again, helpIn(safety.NoHazard, lang, lines), "%s %s", h, lang)
	})
}

func TestPoisonsNameThePoisonLine(t *testing.T) {
	us := safety.LinesFor("US")
	for _, h := range []safety.Hazard{safety.Swallowed, safety.EyesOrSkin, safety.BreathingOrGas, safety.ChildOrPetInDanger} {
		for _, lang := range languages {
			text, _ := safety.Response(h, safety.Emergency, lang, us)
			require.Contains(t, text, "1-800-222-1222", "%s %s", h, lang)
			text, _ = safety.Response(h, safety.Emergency, lang, safety.LinesFor("NL"))
			require.NotContains(t, text, "1-800", "%s %s: no number is better than another country's", h, lang)
		}
	}
}

func TestAnEmergencySaysNothingOfTheService(t *testing.T) {
	each(func(h safety.Hazard, s safety.Severity, lang string, lines safety.Lines, text, again string) {
		if s != safety.Emergency {
			return
		}
		for _, word := range []string{"flush", "dose", "next step", "reply", "service", "soak", "test strip", "reading", "filter", "drain",
			"servicio", "dosis", "siguiente paso", "tira", "filtro", "lavado"} {
			require.NotContains(t, strings.ToLower(text+" "+again), word, "%s %s", h, lang)
		}
	})
}

func TestWhatAPersonTakesOverIsSaid(t *testing.T) {
	each(func(h safety.Hazard, s safety.Severity, lang string, lines safety.Lines, text, again string) {
		if s == safety.Emergency {
			return
		}
		person := map[string]string{"en": "person from the shop will", "es": "persona de la tienda l"}[lang]
		require.Contains(t, text, person, "%s %s %s", h, s, lang)
		require.Contains(t, strings.ToLower(again), map[string]string{"en": "a person ", "es": "una persona "}[lang], "%s %s %s", h, s, lang)
		leave := map[string][]string{"en": {"do not ", "nobody in the water", "keep everyone out"}, "es": {"no ", "nadie"}}[lang]
		require.True(t, anyIn(strings.ToLower(text), leave), "%s %s %s says nothing to leave alone: %s", h, s, lang, text)
	})
}

func TestWordsThatAreNeverSaid(t *testing.T) {
	each(func(h safety.Hazard, s safety.Severity, lang string, lines safety.Lines, text, again string) {
		said := " " + strings.ToLower(text+" "+again) + " "
		for _, word := range []string{" safe ", " safe.", "seguro", // never without readings
			"you have a ", "usted tiene", "infection", "poisoned", // a diagnosis
			" stop ", " quit ", " end ", " revoke", " cancel", "unsubscribe", " alto ", " baja ", // legal words
			"take off the panel", "abra el panel", " tu ", " te ", "tienes"} { // opening panels, and tuteo
			if word == "abra el panel" {
				said = strings.ReplaceAll(said, "no abra el panel", "")
			}
			require.NotContains(t, said, word, "%s %s %s", h, s, lang)
		}
	})
}

func TestOutOfTheOrdinary(t *testing.T) {
	us := safety.LinesFor("US")
	text, again := safety.Response(safety.Swallowed, safety.NoSeverity, "en", us)
	require.Empty(t, text+again)

	milder, _ := safety.Response(safety.Swallowed, safety.Technician, "en", us)
	emergency, _ := safety.Response(safety.Swallowed, safety.Emergency, "en", us)
	require.Equal(t, emergency, milder, "a hazard without a mild form gets the answer it has")

	for _, lang := range languages {
		for _, s := range []safety.Severity{safety.Technician, safety.PersonSoon, safety.Emergency} {
			for _, h := range []safety.Hazard{"meteor", safety.NoHazard, safety.EquipmentFault} {
				text, again = safety.Response(h, s, lang, safety.Lines{})
				require.NotEmpty(t, text, "%s %s %s", h, s, lang)
				require.Equal(t, 1, smstext.Count(again).Parts)
				require.LessOrEqual(t, smstext.Count(text).Parts, 2)
			}
		}
		text, _ = safety.Response(safety.EquipmentFault, safety.Emergency, lang, us)
		require.Contains(t, text, "911", "a fault called an emergency is answered as one")
	}
	french, _ := safety.Response(safety.FireOrSmoke, safety.Emergency, "fr", us)
	english, _ := safety.Response(safety.FireOrSmoke, safety.Emergency, "en", us)
	require.Equal(t, english, french, "what is not Spanish is answered in English")
}

func TestNobodyIsToldToDrainAfterAnIllness(t *testing.T) {
	english, _ := safety.Response(safety.InfectionSymptoms, safety.PersonSoon, "en", safety.LinesFor("US"))
	require.Contains(t, english, "Do not drain it yet")
	require.Contains(t, english, "doctor")
	spanish, _ := safety.Response(safety.InfectionSymptoms, safety.PersonSoon, "es", safety.LinesFor("US"))
	require.Contains(t, spanish, "No saque el agua por ahora")
	require.Contains(t, spanish, "médico")
}

func TestSelfHarmIsHeard(t *testing.T) {
	us := safety.LinesFor("us")
	english, _ := safety.Response(safety.SelfHarm, safety.Emergency, "en", us)
	require.Contains(t, english, "Call or text 988 now")
	spanish, _ := safety.Response(safety.SelfHarm, safety.Emergency, "es", us)
	require.Contains(t, spanish, "Llame al 988 y marque 2 ya")
	nowhere, _ := safety.Response(safety.SelfHarm, safety.Emergency, "en", safety.LinesFor(""))
	require.Contains(t, nowhere, "Call someone you trust now")
	require.Contains(t, nowhere, "Call your local emergency number")
}

func anyIn(text string, words []string) bool {
	for _, word := range words {
		if strings.Contains(text, word) {
			return true
		}
	}
	return false
}
