package learn

import (
	"fmt"
	"math"
	"sort"
)

// Example is one text for training: its features (each at most once), the index of its
// class, and how much it counts (1 is usual).
type Example struct {
	Features []uint32
	Class    int
	Weight   float64
}

// Settings of a training run.
type Settings struct {
	Epochs  int
	Rate    float64 // first step size of AdaGrad
	Decay   float64 // pull of each weight towards 0 at each step
	Least   int     // texts a feature must stand in
	Keep    float64 // weights smaller than this are dropped
	Shuffle uint64  // seed of the order
}

// Usual returns the settings found best by leaving one writer out in turn.
func Usual() Settings {
	return Settings{Epochs: 12, Rate: 0.5, Decay: 2e-5, Least: 2, Keep: 0.06, Shuffle: 2026}
}

// trainer is multinomial logistic regression by AdaGrad.
type trainer struct {
	settings Settings
	classes  int
	index    map[uint32]int32
	features []uint32
	weights  []float64 // feature-major: weights[f*classes+c]
	squares  []float64
	bias     []float64
	biasSq   []float64
}

// Train fits a model. The same examples in the same order with the same settings give
// the same bytes. It fails where a class is out of range or there are too many.
func Train(examples []Example, classes []string, s Settings) (*Model, error) {
	if len(classes) == 0 || len(classes) > 255 {
		return nil, fmt.Errorf("train: %d classes; want 1 to 255", len(classes))
	}
	for i, e := range examples {
		if e.Class < 0 || e.Class >= len(classes) {
			return nil, fmt.Errorf("train: example %d has class %d of %d", i, e.Class, len(classes))
		}
	}
	t := newTrainer(examples, len(classes), s)
	order := make([]int, len(examples))
	for i := range order {
		order[i] = i
	}
	random := s.Shuffle
	for epoch := 0; epoch < s.Epochs; epoch++ {
		for i := len(order) - 1; i > 0; i-- {
			random = random*6364136223846793005 + 1442695040888963407
			j := int((random >> 33) % uint64(i+1))
			order[i], order[j] = order[j], order[i]
		}
		for _, i := range order {
			t.step(examples[i])
		}
	}
	return t.model(classes), nil
}

func newTrainer(examples []Example, classes int, s Settings) *trainer {
	counts := map[uint32]int{}
	for _, e := range examples {
		for _, f := range e.Features {
			counts[f]++
		}
	}
	t := &trainer{settings: s, classes: classes, index: map[uint32]int32{}}
	for f, n := range counts {
		if n >= s.Least {
			t.features = append(t.features, f)
		}
	}
	sort.Slice(t.features, func(i, j int) bool { return t.features[i] < t.features[j] })
	for i, f := range t.features {
		t.index[f] = int32(i)
	}
	t.weights = make([]float64, len(t.features)*classes)
	t.squares = make([]float64, len(t.features)*classes)
	t.bias = make([]float64, classes)
	t.biasSq = make([]float64, classes)
	return t
}

// step moves the weights by one example. Each product is rounded by a conversion
// before it is added, so that no machine fuses the two.
func (t *trainer) step(e Example) {
	known := make([]int32, 0, len(e.Features))
	for _, f := range e.Features {
		if i, ok := t.index[f]; ok {
			known = append(known, i)
		}
	}
	norm := Norm(len(e.Features))
	scores := t.scores(known, norm)
	for c, p := range scores {
		g := p
		if c == e.Class {
			g--
		}
		g = float64(g * e.Weight)
		if math.Abs(g) < 1e-4 {
			continue
		}
		update(&t.bias[c], &t.biasSq[c], float64(g*0.2), t.settings)
		g = float64(g * norm)
		for _, i := range known {
			k := int(i)*t.classes + c
			update(&t.weights[k], &t.squares[k], g, t.settings)
		}
	}
}

func update(w, square *float64, g float64, s Settings) {
	g += float64(s.Decay * *w)
	*square += float64(g * g)
	*w -= float64(float64(s.Rate*g) / math.Sqrt(*square+1e-8))
}

func (t *trainer) scores(known []int32, norm float64) []float64 {
	out := make([]float64, t.classes)
	copy(out, t.bias)
	for c := range out {
		out[c] = 0
	}
	for _, i := range known {
		row := t.weights[int(i)*t.classes : (int(i)+1)*t.classes]
		for c, w := range row {
			out[c] += w
		}
	}
	top := math.Inf(-1)
	for c := range out {
		out[c] = float64(out[c]*norm) + float64(t.bias[c]*norm)
		top = math.Max(top, out[c])
	}
	total := 0.0
	for c := range out {
		out[c] = math.Exp(out[c] - top)
		total += out[c]
	}
	for c := range out {
		out[c] /= total
	}
	return out
}

// model rounds the weights to integers.
func (t *trainer) model(classes []string) *Model {
	largest := 1e-9
	for _, w := range t.weights {
		largest = math.Max(largest, math.Abs(w))
	}
	m := &Model{classes: classes, scale: largest / 127, bias: make([]int32, len(classes)), cells: make([]cell, 1)}
	for c, b := range t.bias {
		m.bias[c] = int32(math.Round(b / m.scale))
	}
	m.slots = make([]slot, tableSize(len(t.features)))
	for i, f := range t.features {
		from := uint32(len(m.cells))
		for c, w := range t.weights[i*t.classes : (i+1)*t.classes] {
			q := math.Round(w / m.scale)
			if math.Abs(w) >= t.settings.Keep && q != 0 {
				m.cells = append(m.cells, cell{uint8(c), int8(q)})
			}
		}
		if to := uint32(len(m.cells)); to > from {
			m.insert(slot{f, from, to})
		}
	}
	return m
}
