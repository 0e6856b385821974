package shop_test

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
	"tubhand/internal/shop"
)

// with is the demo shop's file with its last sections replaced.
func with(t *testing.T, more string) (*shop.File, error) {
	t.Helper()
	before, _, ok := bytes.Cut(shop.DemoSource(), []byte("\nconsent:"))
	require.True(t, ok)
	return shop.Load("shop.yaml", append(bytes.Clone(before), "\n"+more...))
}

func TestConsentRulesAreRead(t *testing.T) {
	f, err := with(t, `consent:
  texts: 9:00-20:30
  nudges_per_day: 3
  nudges_per_service: 5
  printed: {TUB1: "Text TUB1 for help with your tub"}
retention: {transcripts_months: 24, closed_cases_months: 36, idle_owners_months: 30, staff_log_months: 60}
`)
	require.NoError(t, err)
	require.Equal(t, conversation.ConsentRules{
		From: 540, Until: 1230, NudgesPerDay: 3, NudgesPerService: 5, Printed: map[string]string{"TUB1": "Text TUB1 for help with your tub"},
	}, f.Shop.Consent)
	require.Equal(t, shop.Retention{Transcripts: 24, Cases: 36, Idle: 30, Audit: 60}, f.Retention)
	plain, err := with(t, "")
	require.NoError(t, err)
	require.Zero(t, plain.Shop.Consent)
	require.Zero(t, plain.Retention, "kept for good")
}

func TestConsentProblemsSayWhatToWrite(t *testing.T) {
	for text, want := range map[string]string{
		"consent: {texts: 7:00-20:00}":                       "stay within 8:00-21:00",
		"consent: {texts: 9:00-21:30}":                       "stay within 8:00-21:00",
		"consent: {texts: evenings}":                         "write one like 9:00-20:00",
		"consent: {texts: 9:00-9:30}":                        "less than an hour",
		"consent: {nudges_per_day: 51}":                      "1 to 50",
		"consent: {nudges_per_service: -1}":                  "1 to 50",
		"consent: {printed: {tub: x}}":                       "like TUB1",
		"consent: {printed: {STOP: x}}":                      "like TUB1",
		"consent: {printed: {ALTO: x}}":                      "like TUB1",
		"consent: {printed: {TUB1: \"\"}}":                   "owners are told it",
		"consent: {quiet: 9:00-20:00}":                       "mend its spelling",
		"retention: {transcripts_months: 0}":                 "take it out to keep it for good",
		"retention: {idle_owners_months: 241}":               "1 to 240",
		"retention: {closed_cases_months: soon}":             "closed_cases_months",
		"retention: {staff_log_months: 12, other_months: 1}": "mend its spelling",
	} {
		_, err := with(t, text)
		require.ErrorContains(t, err, want, text)
		require.ErrorContains(t, err, "shop.yaml:", text)
	}
}
