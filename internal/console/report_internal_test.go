package console

import (
	"bytes"
	"encoding/csv"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Whatever a cell holds, a spreadsheet takes it for text and a reader gets it back.
func TestCellsAreHarmless(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		cell := rapid.OneOf(rapid.String(), rapid.StringMatching(`[=+\-@|%\t][a-z()!']{0,8}`)).Draw(rt, "cell")
		table := reportTable{Head: []string{"a", "b"}, Rows: [][]string{{"x", cell}}}
		var out bytes.Buffer
		require.NoError(rt, table.write(&out))
		rows, err := csv.NewReader(&out).ReadAll()
		require.NoError(rt, err)
		got := rows[1][1]
		require.False(rt, strings.ContainsAny(got[:min(len(got), 1)], "=+-@|%\t\r"), "%q", got)
		same := strings.NewReplacer("\r", "") // the writer ends lines in its own way
		require.Contains(rt, []string{same.Replace(cell), "'" + same.Replace(cell)}, same.Replace(got))
	})
}

func TestBarsStayWithinTheirDrawing(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var rows []barRow
		for range rapid.IntRange(0, 15).Draw(rt, "rows") {
			r := barRow{Label: rapid.StringN(0, 80, -1).Draw(rt, "label")}
			for range rapid.IntRange(1, 3).Draw(rt, "shares") {
				r.Shares = append(r.Shares, share{N: rapid.Int64Range(0, 1e9).Draw(rt, "n"), Class: "bar-a"})
			}
			rows = append(rows, r)
		}
		c := barChart("x", "title", "about", rows)
		require.LessOrEqual(rt, len(c.Texts), mostBars)
		for _, b := range c.Bars {
			require.LessOrEqual(rt, percentOf(rt, b.X)+percentOf(rt, b.W), 100.05)
			require.LessOrEqual(rt, b.Y+b.H, c.Height)
		}
	})
}

func percentOf(t require.TestingT, percent string) float64 {
	x, err := strconv.ParseFloat(strings.TrimSuffix(percent, "%"), 64)
	require.NoError(t, err)
	return x
}

func TestPartsOfWaitsAreTimesThatWere(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		w := &waited{}
		for i := range rapid.IntRange(1, 40).Draw(rt, "cases") {
			w.times = append(w.times, time.Duration(i)*time.Minute)
		}
		half, most := w.part(0.5), w.part(0.9)
		require.Contains(rt, w.times, half)
		require.LessOrEqual(rt, half, most)
		within := 0
		for _, d := range w.times {
			if d <= half {
				within++
			}
		}
		require.GreaterOrEqual(rt, 2*within, len(w.times), "half are within it")
		var n int64
		for _, b := range w.bars() {
			n += b.total()
		}
		require.Equal(rt, int64(len(w.times)), n)
	})
}

// A period holds its days whatever the clocks do meanwhile.
func TestPeriodsOverAChangeOfClocks(t *testing.T) {
	zone, err := time.LoadLocation("America/Los_Angeles")
	require.NoError(t, err)
	p, trouble := readPeriod("", "2026-03-07", "2026-03-09", time.Date(2026, 6, 13, 10, 0, 0, 0, zone))
	require.Empty(t, trouble)
	require.Equal(t, 3, p.length())
	require.True(t, p.holds(time.Date(2026, 3, 9, 23, 59, 0, 0, zone)))
	require.False(t, p.holds(time.Date(2026, 3, 10, 0, 0, 0, 0, zone)))
	p, trouble = readPeriod("7", "", "", time.Date(2026, 11, 3, 0, 30, 0, 0, zone))
	require.Empty(t, trouble)
	require.Equal(t, 7, p.length())
	require.Equal(t, "2026-10-28", p.first())
}
