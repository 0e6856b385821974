package flow

import "slices"

// The measures of a drawing, in pixels at its natural size.
const (
	boxWidth   = 230.0
	lineHeight = 15.0
	gapAcross  = 46.0
	gapDown    = 58.0
	laneWidth  = 26.0 // what a line that only passes a layer takes
)

// spot is a state in a drawing, or a point of a line that passes a layer.
type spot struct {
	state  int // -1 for a passing line
	layer  int
	x, y   float64 // its middle and its top
	width  float64
	height float64
	up     []int // spots of the layer above that it is linked to
	down   []int
}

// layout is where everything goes: layers from top to bottom, ordered so that lines
// cross seldom, then moved towards what they are linked to.
type layout struct {
	spots  []spot
	layers [][]int
	routes [][]int // for each way: its spots from the upper end to the lower
	turned []bool  // for each way: it leads upwards
}

// lay lays a flow's states out in layers. Heights are those of the states' boxes.
func lay(states int, start int, ways []way, heights []float64) *layout {
	l := &layout{turned: upward(states, start, ways), routes: make([][]int, len(ways))}
	layerOf := layered(states, ways, l.turned)
	for i := range states {
		l.spots = append(l.spots, spot{state: i, layer: layerOf[i], width: boxWidth, height: heights[i]})
	}
	for i, w := range ways {
		top, bottom := w.from, w.to
		if l.turned[i] {
			top, bottom = bottom, top
		}
		if top != bottom {
			l.routes[i] = l.route(top, bottom)
		}
	}
	for i, s := range l.spots {
		for len(l.layers) <= s.layer {
			l.layers = append(l.layers, nil)
		}
		l.layers[s.layer] = append(l.layers[s.layer], i)
	}
	l.order()
	l.place()
	return l
}

// upward finds the ways that close a circle; they are drawn upwards. It walks from the
// start, in the order of the file, and marks what leads back to a state on the walk.
func upward(states, start int, ways []way) []bool {
	out := make([][]int, states)
	for i, w := range ways {
		out[w.from] = append(out[w.from], i)
	}
	for _, list := range out { // forward ways first: "back" must never set the direction
		slices.SortStableFunc(list, func(a, b int) int {
			if ways[a].back != ways[b].back && ways[a].back {
				return 1
			} else if ways[b].back && !ways[a].back {
				return -1
			}
			return 0
		})
	}
	turned := make([]bool, len(ways))
	mark := make([]int, states) // 1: on the walk, 2: done
	var walk func(n int)
	walk = func(n int) {
		mark[n] = 1
		for _, i := range out[n] {
			switch mark[ways[i].to] {
			case 0:
				walk(ways[i].to)
			case 1:
				turned[i] = true
			}
		}
		mark[n] = 2
	}
	walk(start)
	for n := range states {
		if mark[n] == 0 {
			walk(n)
		}
	}
	return turned
}

// layered gives each state the layer below the lowest of those that lead to it.
func layered(states int, ways []way, turned []bool) []int {
	layer := make([]int, states)
	for range states {
		moved := false
		for i, w := range ways {
			from, to := w.from, w.to
			if turned[i] {
				from, to = to, from
			}
			if from != to && layer[to] <= layer[from] {
				layer[to] = layer[from] + 1
				moved = true
			}
		}
		if !moved {
			break
		}
	}
	return layer
}

// route links two states through a spot in every layer between.
func (l *layout) route(top, bottom int) []int {
	path := []int{top}
	last := top
	link := func(next int) {
		l.spots[last].down = append(l.spots[last].down, next)
		l.spots[next].up = append(l.spots[next].up, last)
		path = append(path, next)
		last = next
	}
	for layer := l.spots[top].layer + 1; layer < l.spots[bottom].layer; layer++ {
		l.spots = append(l.spots, spot{state: -1, layer: layer, width: laneWidth})
		link(len(l.spots) - 1)
	}
	link(bottom)
	return path
}

// order sorts each layer by the middle of what its spots are linked to, up and down in
// turn, and keeps the order with the fewest crossings.
func (l *layout) order() {
	best := l.clone()
	fewest := l.crossings()
	for round := range 16 {
		down := round%2 == 0
		for i := range l.layers {
			layer := l.layers[i]
			if !down {
				layer = l.layers[len(l.layers)-1-i]
			}
			l.sort(layer, down)
		}
		if n := l.crossings(); n < fewest {
			best, fewest = l.clone(), n
		}
	}
	l.layers = best
}

func (l *layout) clone() [][]int {
	layers := make([][]int, len(l.layers))
	for i := range l.layers {
		layers[i] = slices.Clone(l.layers[i])
	}
	return layers
}

func (l *layout) sort(layer []int, down bool) {
	at := l.positions()
	middle := make(map[int]float64, len(layer))
	for _, n := range layer {
		links := l.spots[n].up
		if !down {
			links = l.spots[n].down
		}
		middle[n] = at[n]
		if len(links) > 0 {
			sum := 0.0
			for _, link := range links {
				sum += at[link]
			}
			middle[n] = sum / float64(len(links))
		}
	}
	slices.SortStableFunc(layer, func(a, b int) int {
		switch {
		case middle[a] < middle[b]:
			return -1
		case middle[a] > middle[b]:
			return 1
		}
		return 0
	})
}

// positions gives each spot's place in its layer, from 0 to 1.
func (l *layout) positions() []float64 {
	at := make([]float64, len(l.spots))
	for _, layer := range l.layers {
		for i, n := range layer {
			at[n] = (float64(i) + 0.5) / float64(len(layer))
		}
	}
	return at
}

// crossings counts the pairs of lines that cross between two layers.
func (l *layout) crossings() int {
	rank := make([]int, len(l.spots))
	for _, layer := range l.layers {
		for i, n := range layer {
			rank[n] = i
		}
	}
	count := 0
	for _, layer := range l.layers {
		var seen [][2]int
		for _, n := range layer {
			for _, to := range l.spots[n].down {
				for _, other := range seen {
					if other[0] < rank[n] && other[1] > rank[to] {
						count++
					}
				}
				seen = append(seen, [2]int{rank[n], rank[to]})
			}
		}
	}
	return count
}
