package picture_test

import (
	"bytes"
	"image/png"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/channel/email/picture"
)

func series(n int) picture.Series {
	s := picture.Series{Name: "alcalinidad total", Unit: " ppm", Low: 80, High: 120}
	for i := range n {
		s.Points = append(s.Points, picture.Point{At: time.Date(2026, 6, 1+i, 12, 0, 0, 0, time.UTC), Low: float64(70 + i), High: float64(90 + i)})
	}
	return s
}

func TestAPictureOfReadings(t *testing.T) {
	d, err := picture.New()
	require.NoError(t, err)
	ph := picture.Series{Name: "pH", Low: 7.2, High: 7.8, Points: []picture.Point{
		{At: time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC), Low: 7, High: 7}, {At: time.Date(2026, 6, 20, 12, 0, 0, 0, time.UTC), Low: 7.4, High: 7.4}}}
	b, err := d.Draw([]picture.Series{ph, series(14)}, time.UTC, "Jan 2")
	require.NoError(t, err)
	if to := os.Getenv("TUBHAND_PICTURE"); to != "" { // to look at
		require.NoError(t, os.WriteFile(to, b, 0o600))
	}
	img, err := png.Decode(bytes.NewReader(b))
	require.NoError(t, err)
	require.Equal(t, 1120, img.Bounds().Dx())
	require.Less(t, len(b), 60<<10)
	shaded, marked := 0, 0
	for y := range img.Bounds().Dy() {
		for x := range img.Bounds().Dx() {
			r, g, b, _ := img.At(x, y).RGBA()
			switch [3]uint32{r >> 8, g >> 8, b >> 8} {
			case [3]uint32{0xdc, 0xee, 0xe3}:
				shaded++
			case [3]uint32{0x0b, 0x5c, 0x8a}:
				marked++
			}
		}
	}
	require.Greater(t, shaded, 10_000, "the range to soak in is seen")
	require.Greater(t, marked, 2_000, "so are the tests")
}

func TestWhatIsDrawnIsBounded(t *testing.T) {
	d, err := picture.New()
	require.NoError(t, err)
	for name, all := range map[string][]picture.Series{"nothing": nil, "one test": {series(1)}} {
		b, err := d.Draw(all, time.UTC, "Jan 2")
		require.NoError(t, err, name)
		require.Nil(t, b, name)
	}
	var many []picture.Series
	for range 30 {
		many = append(many, series(2000))
	}
	many[0].Points[0].At = many[0].Points[1].At
	b, err := d.Draw(many, time.UTC, "Jan 2")
	require.NoError(t, err)
	img, err := png.Decode(bytes.NewReader(b))
	require.NoError(t, err)
	require.LessOrEqual(t, img.Bounds().Dy(), 1120)
	same := picture.Series{Name: "x", Points: make([]picture.Point, 2)} // one moment, all zero
	_, err = d.Draw([]picture.Series{same}, time.UTC, "Jan 2")
	require.NoError(t, err)
}
