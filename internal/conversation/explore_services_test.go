package conversation_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestEveryServiceIsSafe explores from the word that starts each service, and with a test
// that shows combined chlorine, as TestEveryPlaceIsSafe does from the flush.
func TestEveryServiceIsSafe(t *testing.T) {
	w := world(t)
	limit := 40
	if os.Getenv("TUBHAND_EXPLORE") == "all" {
		limit = 1 << 30
	}
	for _, word := range []string{
		"test", "filter", "refill", "shock", "new tub", "new water", "drops", "cya", "ph",
		"guests", "outage", "away", "winter", "open", "switch", "salt",
	} {
		t.Run(word, func(t *testing.T) {
			e := explore(w, w.Decide, append([]string{word, "3 4 7.4 100 100"}, texts[1:]...), limit)
			t.Logf("explored %d places at %d steps, %d turns between them, %d dangers in them", e.places, len(e.steps), e.turns, e.dangers)
			require.Empty(t, e.faults)
			require.Greater(t, len(e.steps), 15)
		})
	}
}
