package learn

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// TestLanesAddAsOneByOne holds the lanes to the plain sum, for rows of any length and
// more of them than a lane can hold.
func TestLanesAddAsOneByOne(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		hidden := rapid.IntRange(1, 40).Draw(t, "hidden")
		rows := rapid.IntRange(0, 700).Draw(t, "rows")
		row := rapid.SliceOfN(rapid.Byte(), hidden, hidden).Draw(t, "row")
		want, got := make([]int32, hidden), make([]int32, hidden)
		sum := newLanes(hidden)
		for k := range rows {
			row[k%hidden]++
			for j, w := range row {
				want[j] += int32(int8(w))
			}
			sum.add(row, got)
		}
		sum.flush(got)
		require.Equal(t, want, got)
	})
}
