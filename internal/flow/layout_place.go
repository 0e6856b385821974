package flow

// place gives every spot its coordinates: layers below each other, and within a layer
// each spot as near to the middle of its links as its neighbours allow.
func (l *layout) place() {
	y := 0.0
	for _, layer := range l.layers {
		tallest := 0.0
		for _, n := range layer {
			tallest = max(tallest, l.spots[n].height)
		}
		for _, n := range layer {
			s := &l.spots[n]
			if s.state < 0 {
				s.height = tallest // a passing line goes straight through the layer
			}
			s.y = y + (tallest-s.height)/2
		}
		y += tallest + gapDown
	}
	for _, layer := range l.layers {
		l.settle(layer, func(int) float64 { return 0 })
	}
	for round := range 12 {
		for i := range l.layers {
			if round%2 == 0 {
				l.settle(l.layers[i], func(n int) float64 { return l.middle(n, l.spots[n].up) })
			} else {
				l.settle(l.layers[len(l.layers)-1-i], func(n int) float64 { return l.middle(n, l.spots[n].down) })
			}
		}
	}
	l.shift()
}

// middle is the mean place of a spot's links; its own where it has none.
func (l *layout) middle(n int, links []int) float64 {
	if len(links) == 0 {
		return l.spots[n].x
	}
	sum := 0.0
	for _, link := range links {
		sum += l.spots[link].x
	}
	return sum / float64(len(links))
}

// block is a run of spots that touch each other and move as one.
type block struct {
	first, last int     // indexes in the layer
	want        float64 // the mean of where its spots would like its first one to be
	weight      float64
}

// settle moves the spots of a layer as near as can be to where they want to be, keeping
// their order and their distance: the least-squares solution, by pooling neighbours
// that would overlap.
func (l *layout) settle(layer []int, want func(n int) float64) {
	offset := make([]float64, len(layer)) // of each spot's middle from the first one's
	for i := 1; i < len(layer); i++ {
		offset[i] = offset[i-1] + l.distance(layer[i-1], layer[i])
	}
	var blocks []block
	for i, n := range layer {
		blocks = append(blocks, block{i, i, want(n) - offset[i], 1})
		for len(blocks) > 1 && blocks[len(blocks)-1].want < blocks[len(blocks)-2].want {
			a, b := blocks[len(blocks)-2], blocks[len(blocks)-1]
			weight := a.weight + b.weight
			merged := block{a.first, b.last, (a.want*a.weight + b.want*b.weight) / weight, weight}
			blocks = append(blocks[:len(blocks)-2], merged)
		}
	}
	for _, b := range blocks {
		for i := b.first; i <= b.last; i++ {
			l.spots[layer[i]].x = b.want + offset[i]
		}
	}
}

// distance is how far the middles of two neighbours must be apart.
func (l *layout) distance(a, b int) float64 {
	gap := gapAcross
	if l.spots[a].state < 0 || l.spots[b].state < 0 {
		gap = gapAcross / 2
	}
	return (l.spots[a].width+l.spots[b].width)/2 + gap
}

// shift moves everything so that it begins at 0.
func (l *layout) shift() {
	left := 0.0
	for i, s := range l.spots {
		if edge := s.x - s.width/2; i == 0 || edge < left {
			left = edge
		}
	}
	for i := range l.spots {
		l.spots[i].x -= left
	}
}

// size is how much room the drawing takes.
func (l *layout) size() (width, height float64) {
	for _, s := range l.spots {
		width = max(width, s.x+s.width/2)
		height = max(height, s.y+s.height)
	}
	return width, height
}
