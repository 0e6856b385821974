package safety

import (
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestLinesByRegion(t *testing.T) {
	for region, emergency := range map[string]string{
		"US": "911", "CA": "911", "MX": "911", "PR": "911", "us": "911", " us ": "911",
		"GB": "999", "AU": "000", "NZ": "111", "DE": "112", "ES": "112", "IE": "112", "PL": "112",
		"ZZ": LocalEmergency, "": LocalEmergency, "USA": LocalEmergency, "S": LocalEmergency,
	} {
		require.Equal(t, emergency, LinesFor(region).Emergency, "%q", region)
	}
	// New York State Department of Health, Swimming Pool Chemicals.
	require.Equal(t, "1-800-222-1222", LinesFor("US").Poison)
	require.Equal(t, "988", LinesFor("US").Crisis)
	require.Equal(t, "988", LinesFor("CA").Crisis)
	require.Equal(t, Lines{Emergency: LocalEmergency}, LinesFor("ZZ"))
	require.Equal(t, []string{"911", "al 911", LocalEmergency, "a emergencias"}, []string{
		LinesFor("US").EmergencyIn("en"), LinesFor("US").EmergencyIn("es"), LinesFor("").EmergencyIn("en"), Lines{}.EmergencyIn("es"),
	})
}

func TestEveryLineHasASource(t *testing.T) {
	number := regexp.MustCompile(`^[0-9][0-9 -]{1,14}$`)
	seen := map[string]bool{}
	for _, row := range lineTable {
		require.NotEmpty(t, row.source, row.regions)
		if row.date == "" {
			require.Contains(t, row.source, "from memory", "%s: a published number has a date", row.regions)
		}
		require.Regexp(t, number, row.lines.Emergency, row.regions)
		for _, other := range []string{row.lines.Poison, row.lines.Crisis} {
			require.True(t, other == "" || number.MatchString(other), "%s: %q", row.regions, other)
		}
		for _, region := range strings.Fields(row.regions) {
			require.Len(t, region, 2)
			require.False(t, seen[region], "%s is listed twice", region)
			seen[region] = true
		}
	}
	// The 27 members of the European Union, all of which have 112 (directive 98/10/EC).
	for _, region := range strings.Fields("AT BE BG HR CY CZ DK EE FI FR DE GR HU IE IT LV LT LU MT NL PL PT RO SK SI ES SE") {
		require.Equal(t, "112", LinesFor(region).Emergency, region)
	}
}

// Each hazard has its own words in each severity it may have, in both languages, and
// there are none for what cannot be.
func TestAnswersAreComplete(t *testing.T) {
	type key struct {
		hazard   Hazard
		severity Severity
	}
	want := map[key]bool{}
	for _, h := range Hazards() {
		for _, s := range Severities(h) {
			want[key{h, s}] = true
		}
	}
	for _, s := range []Severity{Technician, PersonSoon, Emergency} {
		want[key{NoHazard, s}] = true
	}
	for language, answers := range map[string][]answer{"en": englishAnswers, "es": spanishAnswers} {
		have := map[key]bool{}
		for _, a := range answers {
			k := key{a.hazard, a.severity}
			require.False(t, have[k], "%s: %v twice", language, k)
			have[k] = true
			for _, words := range []string{a.first, a.then, a.again} {
				require.Equal(t, strings.TrimSpace(words), words)
				require.NotEmpty(t, words, "%s: %v", language, k)
			}
		}
		require.Equal(t, want, have, language)
	}
}

func TestSeverities(t *testing.T) {
	require.Len(t, Hazards(), 15)
	require.NotContains(t, Hazards(), NoHazard)
	for _, h := range Hazards() {
		may := Severities(h)
		require.Contains(t, may, SeverityOf(h), "%s", h)
		for i := 1; i < len(may); i++ {
			require.Less(t, may[i-1].Rank(), may[i].Rank(), "%s: mildest first", h)
		}
	}
	for h, s := range map[Hazard]Severity{
		Entrapment: Emergency, ElectricShock: Emergency, Swallowed: Emergency, SelfHarm: Emergency,
		ChemicalMixing: PersonSoon, MedicalQuestion: PersonSoon, InfectionSymptoms: PersonSoon, ElectricalFault: PersonSoon,
		EquipmentFault: Technician, NoHazard: NoSeverity, "": NoSeverity, "meteor": Emergency,
	} {
		require.Equal(t, s, SeverityOf(h), "%q", h)
	}
	require.Empty(t, Severities(NoHazard))
	Severities(Entrapment)[0] = NoSeverity
	require.Equal(t, PersonSoon, Severities(Entrapment)[0], "the list given out is the caller's own")
	require.Equal(t, []int{0, 1, 2, 3}, []int{NoSeverity.Rank(), Technician.Rank(), PersonSoon.Rank(), Emergency.Rank()})
}
