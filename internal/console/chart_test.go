package console

import (
	"encoding/xml"
	"errors"
	"io"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/safety"
	"tubhand/internal/shop"
)

var noon = time.Date(2026, 6, 13, 19, 0, 0, 0, time.UTC)

func drawer() *Console {
	file := shop.Demo()
	c := &Console{zone: time.UTC}
	c.Shop = &file.Shop
	c.Clock = clock.NewStill(noon)
	return c
}

func entry(kind, name string, minutes int, low, high float64) conversation.LogEntry {
	return conversation.LogEntry{Kind: kind, Name: name, At: noon.Add(time.Duration(minutes) * time.Minute), Low: low, High: high}
}

func TestOfOneTimeTheLastReadingCounts(t *testing.T) {
	all := measurements([]conversation.LogEntry{
		entry("reading", "ph", 0, 8.4, 8.4), entry("reading", "ph", 10, 7.2, 7.2), entry("reading", "total_alkalinity_ppm", 0, 74, 74),
		entry("reading", "ph", 0, 7.4, 7.4), entry("withdrawn", "total_alkalinity_ppm", 0, 0, 0), entry("added", "balance", 3, 0, 0),
	})
	require.Empty(t, all["total_alkalinity_ppm"])
	require.Equal(t, []measurement{{at: noon, low: 7.4, high: 7.4}, {at: noon.Add(10 * time.Minute), low: 7.2, high: 7.2}}, all["ph"])
}

func TestChartsShowTheBandOfTheLimits(t *testing.T) {
	c := drawer()
	charts := c.charts([]conversation.LogEntry{
		entry("reading", "ph", 0, 7.4, 7.4), entry("reading", "ph", 90, 7.8, 8.4), entry("reading", "free_chlorine_ppm", 0, 10, 0), entry("reading", "salt_ppm", 0, 2000, 2000),
	})
	require.Len(t, charts, 3)
	chlorine, ph, salt := charts[0], charts[1], charts[2]
	require.Equal(t, "3 to 5", chlorine.Band)
	require.Equal(t, "over 10", chlorine.Latest)
	require.True(t, chlorine.Out)
	require.Equal(t, "7 to 7.8", ph.Band)
	require.Equal(t, "pH, 2 readings from 7:00 pm to 8:30 pm; the latest is 7.8 to 8.4. The band to soak in is 7 to 7.8, and the latest is outside it.", ph.About)
	require.False(t, ph.Bars[0].Range)
	require.True(t, ph.Bars[1].Range, "a range is a bar")
	require.Equal(t, "7.8 to 8.4", ph.Points[0].Value, "the table begins with the latest")
	require.Empty(t, salt.Band)
	require.Equal(t, "Salt, one reading of 7:00 pm: 2000.", salt.About)

	limit := 7.6
	c.Shop.Limits = map[string]safety.Narrower{"ph": {SoakHigh: &limit}}
	require.Equal(t, "7 to 7.6", c.charts([]conversation.LogEntry{entry("reading", "ph", 0, 7.4, 7.4)})[0].Band, "as the shop tightened it")
}

// TestChartsStayInside: whatever was read, every mark lies in the drawing, and the page
// around it is well formed.
func TestChartsStayInside(t *testing.T) {
	c := drawer()
	pages, err := loadPages()
	require.NoError(t, err)
	rapid.Check(t, func(t *rapid.T) {
		var log []conversation.LogEntry
		for range rapid.IntRange(1, 40).Draw(t, "readings") {
			low := rapid.Float64Range(0, 2000).Draw(t, "low")
			log = append(log, entry("reading", rapid.SampledFrom([]string{"ph", "free_chlorine_ppm", "cyanuric_acid_ppm", "water_temp_f", "tds_ppm", "odd"}).Draw(t, "what"),
				rapid.IntRange(0, 1e6).Draw(t, "when"), low, rapid.SampledFrom([]float64{0, low, low + 3}).Draw(t, "high")))
		}
		for _, v := range c.charts(log) {
			require.LessOrEqual(t, len(v.Bars), mostPoints)
			for _, b := range v.Bars {
				for _, x := range []float64{b.X, b.Y, b.Height, v.BandY, v.BandHeight} {
					require.False(t, math.IsNaN(x) || math.IsInf(x, 0))
				}
				require.True(t, b.X >= chartLeft && b.X <= chartWidth && b.Y >= 0 && b.Y+b.Height <= chartHeight, "%+v", b)
			}
			var out strings.Builder
			require.NoError(t, pages[conversationPage].ExecuteTemplate(&out, "chart", v))
			for d := xml.NewDecoder(strings.NewReader(out.String())); ; {
				if _, err := d.Token(); errors.Is(err, io.EOF) {
					break
				} else {
					require.NoError(t, err, out.String())
				}
			}
		}
	})
}
