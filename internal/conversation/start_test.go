package conversation_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
	"tubhand/internal/safety"
	"tubhand/internal/understand"
)

// startWords are the words that start each service, in a language; the first is the one
// that the menu names.
func startWords(t *testing.T, language string) map[string][]string {
	t.Helper()
	words := map[string][]string{}
	for name, text := range written(t, language) {
		if service, ok := strings.CutPrefix(name, "common/choices.start_"); ok {
			for word := range strings.SplitSeq(text, ",") {
				words[service] = append(words[service], strings.TrimSpace(word))
			}
		}
	}
	require.NotEmpty(t, words)
	return words
}

// known is a conversation with an owner whose tub is known.
func known(w *conversation.World, language string) *walk {
	k := newWalk(w)
	k.c.Owner.Language = language
	k.c.Tub.VolumeUSGal, k.c.Tub.Sanitizer = 375, "chlorine"
	return k
}

// TestEveryWordStartsItsService: each word that starts a service does, in small letters,
// capitals and with a full stop, and no word starts two.
func TestEveryWordStartsItsService(t *testing.T) {
	runs := map[string][2]string{
		"flush_plumbing": {"flush_plumbing", "product"}, "test_water": {"test_water", "retest"}, "clean_filters": {"clean_filters", "kind_of_cleaning"},
		"drain": {"drain_refill", "today"}, "refill": {"drain_refill", "empty"}, "shock": {"shock", "reason"},
		"new_water": {"new_water", "source"}, "sanitizer_drops": {"sanitizer_drops", "first"},
		"high_cyanuric": {"high_cyanuric", "first"}, "ph_drift": {"ph_drift", "first"}, "rental_turnover": {"rental_turnover", "first"}, "power_cut": {"power_cut", "back_on"},
		"away": {"away", "trip"}, "home_again": {"away", "running_well"}, "close_down": {"close_down", "keep_or_close"}, "open_up": {"open_up", "look_over"},
		"switch_sanitizer": {"switch_sanitizer", "which_way"}, "salt_mineral": {"salt_mineral", "kind"}, "new_owner": {"new_owner", "hello_new"},
	}
	w := world(t)
	for _, language := range languages(t) {
		meant := map[string]string{}
		for service, words := range startWords(t, language) {
			require.Contains(t, runs, service)
			for _, word := range words {
				require.Empty(t, meant[word], "%q starts two services", word)
				meant[word] = service
				for _, said := range []string{word, strings.ToUpper(word), word + "."} {
					r := known(w, language)
					r.text(said)
					require.NotNil(t, r.c.Service, "%s: %q", language, said)
					require.Equal(t, runs[service], [2]string{r.c.Service.Flow, r.c.Service.State}, "%s: %q", language, said)
				}
			}
		}
	}
}

// TestTheMenuNamesWhatCanBeStarted: each text that lists what can be started names the
// first word of each service; the refill goes with the drain, coming home with going away.
func TestTheMenuNamesWhatCanBeStarted(t *testing.T) {
	for _, language := range languages(t) {
		these := written(t, language)
		for service, words := range startWords(t, language) {
			if service == "refill" || service == "home_again" {
				continue
			}
			keys := []string{"menu", "menu.again", "nothing_running"}
			if !inFirstMenu(service) {
				keys = []string{"menu.more"}
			}
			for _, key := range keys {
				require.Regexp(t, `\b`+strings.ToUpper(words[0])+`\b`, these["common/"+key], "%s %s", language, key)
			}
		}
	}
}

// inFirstMenu tells whether a service is one of the first menu's; the others are in the
// second, which MORE asks for.
func inFirstMenu(service string) bool {
	return slices.Contains([]string{"flush_plumbing", "test_water", "clean_filters", "drain", "shock"}, service)
}

// TestTheFirstMenuLeadsToTheSecond: its word for more lists the other services, and an
// owner can then text one of those words.
func TestTheFirstMenuLeadsToTheSecond(t *testing.T) {
	for language, word := range map[string]string{"en": "MORE", "es": "OTROS"} {
		require.Regexp(t, `\b`+word+`\b`, written(t, language)["common/menu"])
		r := known(world(t), language)
		r.text(word)
		require.Contains(t, r.said(), strings.ToUpper(startWords(t, language)["new_water"][0]))
		r.text(startWords(t, language)["new_water"][0])
		require.Equal(t, "new_water/source", place1(r))
	}
}

// TestAWordFromTheMenuIsNoDanger: what the menu tells owners to text is never taken for
// a danger, and none of it is a legal word of opting out.
func TestAWordFromTheMenuIsNoDanger(t *testing.T) {
	for _, language := range languages(t) {
		for _, words := range startWords(t, language) {
			for _, word := range words {
				m := understand.Understand(word, understand.Context{Language: language, Asked: understand.AskedNothing})
				require.LessOrEqual(t, m.Severity.Rank(), safety.Technician.Rank(), "%s: %q", language, word)
				require.NotContains(t, legal, strings.ToUpper(word))
			}
		}
	}
}

// TestOneServiceAtATime: who asks for another service in the middle of one stays in it,
// and nobody is called.
func TestOneServiceAtATime(t *testing.T) {
	r := known(world(t), "en")
	r.text("filter")
	r.text("1")
	require.Equal(t, "power_off", r.c.Service.State)
	r.text("FLUSH")
	require.Equal(t, "clean_filters", r.c.Service.Flow)
	require.Equal(t, "power_off", r.c.Service.State)
	require.Empty(t, r.c.Open)
}

// TestOnlyAFlushCountsAsOne: a good test without flush product is no flush.
func TestOnlyAFlushCountsAsOne(t *testing.T) {
	r := known(world(t), "en")
	r.text("test")
	r.text("4 7.4 100 100")
	r.text("yes")
	require.Nil(t, r.c.Service)
	require.True(t, r.c.Tub.LastFlush.IsZero())
}
