package console_test

import (
	"context"
	"fmt"
	"net/http"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/console"
	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/sqlite"
)

// crowded is a desk over a file with many tubs: of each hundred two in a service, and some
// hundred open cases.
func crowded(t testing.TB, tubs int) *desk {
	t.Helper()
	file, err := sqlite.Open(filepath.Join(t.TempDir(), "tubhand.db"), sqlite.Options{})
	require.NoError(t, err)
	d := newDeskOn(t, file)
	const writers = 64
	errs := make(chan error, writers)
	for w := range writers {
		go func() {
			for i := w; i < tubs; i += writers {
				if err := file.Commit(context.Background(), crowdTurn(i, d.clock.Now())); err != nil {
					errs <- err
					return
				}
			}
			errs <- nil
		}()
	}
	for range writers {
		require.NoError(t, <-errs)
	}
	return d
}

func crowdTurn(i int, now time.Time) store.Turn {
	id := fmt.Sprintf("+1541%07d", 5560000+i)
	c := conversation.Conversation{ID: id, Owner: conversation.Owner{Name: fmt.Sprintf("Owner %d", i)}, Tub: conversation.Tub{VolumeUSGal: float64(200 + i%300), Sanitizer: "chlorine", LastFlush: now.Add(-time.Duration(i%150) * 24 * time.Hour)}}
	var fx conversation.Effects
	if i%50 == 0 {
		c = soaking(id, fmt.Sprintf("Owner %d", i), now)
		fx.Remind = []conversation.Reminder{{ID: id + ".r", Due: now.Add(time.Duration(i%3000) * time.Minute), Name: "silence"}}
	}
	if i%400 == 7 {
		c.Open = []conversation.Handover{handover(id+".h", id, "leak", "technician", now.Add(-time.Hour))}
		fx.Handovers = c.Open
	}
	c.Owner.Addresses = []string{id}
	fx.Lines = []conversation.Line{{ID: id + ".1", At: now, Direction: conversation.In, Text: "what is the tub doing tonight?"}}
	return store.Turn{Shop: "fernhollow", Event: "crowd" + id, Now: now, State: c, Effects: fx}
}

// BenchmarkCrowdedShop asks for pages with 100,000 tubs on file and tells the median and the
// slowest tenth.
func BenchmarkCrowdedShop(b *testing.B) {
	d := crowded(b, 100_000)
	for page := "being read"; strings.Contains(page, "being read"); { // each asks with some patience
		_, page, _ = d.get("/staff/due")
	}
	for name, path := range map[string]string{
		"board": "/staff/", "board, found": "/staff/?find=owner+777", "board, number": "/staff/?find=555-123", "owners": "/staff/owners",
		"owners, found": "/staff/owners?find=77777", "due": "/staff/due",
	} {
		b.Run(name, func(b *testing.B) {
			var took []time.Duration
			for b.Loop() {
				began := time.Now()
				status, _, _ := d.get(path)
				took = append(took, time.Since(began))
				require.Equal(b, http.StatusOK, status)
			}
			slices.Sort(took)
			b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "median-ms")
			b.ReportMetric(float64(took[len(took)*9/10].Microseconds())/1000, "slow-tenth-ms")
		})
	}
}

func newDeskOn(t testing.TB, s store.Store) *desk {
	return newDesk(t, func(o *console.Options) { o.Store = s })
}
