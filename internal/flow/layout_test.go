package flow

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// randomGraph draws ways between a few states.
func randomGraph(t *rapid.T) (states int, ways []way) {
	states = rapid.IntRange(1, 12).Draw(t, "states")
	for i := range rapid.IntRange(0, 24).Draw(t, "ways") {
		ways = append(ways, way{
			from: rapid.IntRange(0, states-1).Draw(t, "from"), to: rapid.IntRange(0, states-1).Draw(t, "to"),
			labels: []string{fmt.Sprint(i)}, back: rapid.Bool().Draw(t, "back"),
		})
	}
	return states, ways
}

func layRandom(t *rapid.T) (*layout, []way) {
	states, ways := randomGraph(t)
	heights := make([]float64, states)
	for i := range heights {
		heights[i] = float64(rapid.IntRange(30, 120).Draw(t, "height"))
	}
	return lay(states, 0, ways, heights), ways
}

// Every way leads downwards or is marked as leading upwards, and its line passes each
// layer between its ends once.
func TestLayoutLayers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, ways := layRandom(t)
		for i, w := range ways {
			from, to := l.spots[w.from].layer, l.spots[w.to].layer
			switch {
			case w.from == w.to:
				require.Empty(t, l.routes[i])
				continue
			case l.turned[i]:
				require.Greater(t, from, to)
			default:
				require.Less(t, from, to)
			}
			route := l.routes[i]
			require.Len(t, route, max(from, to)-min(from, to)+1)
			for k := 1; k < len(route); k++ {
				require.Equal(t, l.spots[route[k-1]].layer+1, l.spots[route[k]].layer)
			}
		}
	})
}

// Nothing in a layer overlaps, layers are below each other, and all is in the picture.
func TestLayoutKeepsApart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, _ := layRandom(t)
		width, height := l.size()
		bottom := math.Inf(-1)
		for _, layer := range l.layers {
			lowest := bottom
			for i, n := range layer {
				s := l.spots[n]
				require.GreaterOrEqual(t, s.x-s.width/2, -1e-6)
				require.LessOrEqual(t, s.x+s.width/2, width+1e-6)
				require.Greater(t, s.y, bottom)
				require.LessOrEqual(t, s.y+s.height, height+1e-6)
				lowest = max(lowest, s.y+s.height)
				if i > 0 {
					require.GreaterOrEqual(t, s.x-l.spots[layer[i-1]].x, l.distance(layer[i-1], n)-1e-6)
				}
			}
			bottom = lowest
		}
	})
}

// A layer settles where the sum of the squares of what its spots are moved is least: no
// single block can be moved a little to make it less.
func TestLayoutSettlesBest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(t, "spots")
		l := &layout{}
		layer := make([]int, n)
		want := make([]float64, n)
		for i := range n {
			l.spots = append(l.spots, spot{state: i, width: boxWidth})
			layer[i] = i
			want[i] = float64(rapid.IntRange(-1000, 1000).Draw(t, "want"))
		}
		l.settle(layer, func(n int) float64 { return want[n] })
		cost := func(x []float64) float64 {
			sum := 0.0
			for i := range x {
				sum += (x[i] - want[i]) * (x[i] - want[i])
			}
			return sum
		}
		at := make([]float64, n)
		for i := range n {
			at[i] = l.spots[i].x
		}
		best := cost(at)
		for first := range n {
			for last := first; last < n; last++ {
				for _, move := range []float64{-1, 1} {
					tried := append([]float64(nil), at...)
					for i := first; i <= last; i++ {
						tried[i] += move
					}
					if apart(l, tried) {
						require.GreaterOrEqual(t, cost(tried), best-1e-6)
					}
				}
			}
		}
	})
}

func apart(l *layout, x []float64) bool {
	for i := 1; i < len(x); i++ {
		if x[i]-x[i-1] < l.distance(i-1, i)-1e-9 {
			return false
		}
	}
	return true
}

// Ordering never makes more lines cross than the order of the file does.
func TestLayoutOrderHelps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, ways := layRandom(t)
		byFile := &layout{spots: l.spots, layers: make([][]int, len(l.layers))}
		for n, s := range l.spots {
			byFile.layers[s.layer] = append(byFile.layers[s.layer], n)
		}
		require.LessOrEqual(t, l.crossings(), byFile.crossings(), "%v", ways)
	})
}

// A chain of states is one column, in the order of the file.
func TestLayoutOfAChain(t *testing.T) {
	l := lay(4, 0, []way{{from: 0, to: 1}, {from: 1, to: 2}, {from: 2, to: 3}, {from: 3, to: 1, back: true}}, []float64{50, 50, 50, 50})
	for i := range 4 {
		require.Equal(t, i, l.spots[i].layer)
	}
	require.Equal(t, []bool{false, false, false, true}, l.turned)
	require.InDelta(t, l.spots[0].x, l.spots[3].x, boxWidth)
}
