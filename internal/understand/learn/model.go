// Package learn holds a small linear classifier: hashed features with integer weights.
// A trained model only adds integers, so it scores alike on every machine. Training the
// same texts again gives the same bytes on one kind of machine: it goes in a fixed order
// and rounds every product before it is added.
package learn

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"sort"
)

// Hash names a feature by 32 bits (FNV-1a).
func Hash(feature string) uint32 {
	h := uint32(2166136261)
	for i := 0; i < len(feature); i++ {
		h = (h ^ uint32(feature[i])) * 16777619
	}
	return h
}

// Model scores features for each of its classes. It is read-only and safe for
// concurrent use.
type Model struct {
	classes []string
	scale   float64 // what one unit of weight is worth
	bias    []int32
	slots   []slot // open addressing by feature, a power of two
	cells   []cell
}

type slot struct {
	feature  uint32
	from, to uint32 // cells; to == 0 marks a free slot
}

type cell struct {
	class  uint8
	weight int8
}

// Classes returns the names of the classes in the order of scores. The caller must not
// change the slice.
func (m *Model) Classes() []string { return m.classes }

// Score adds up the weights of the features, one sum a class, into sums, which must
// hold as many as there are classes. The result is in logits after Logit.
func (m *Model) Score(features []uint32, sums []int32) {
	copy(sums, m.bias)
	for _, f := range features {
		from, to := m.find(f)
		for _, c := range m.cells[from:to] {
			sums[c.class] += int32(c.weight)
		}
	}
}

// Weight returns what one feature adds to one class, in logits before normalising.
func (m *Model) Weight(feature uint32, class int) float64 {
	from, to := m.find(feature)
	for _, c := range m.cells[from:to] {
		if int(c.class) == class {
			return float64(c.weight) * m.scale
		}
	}
	return 0
}

// Knows reports whether the feature has any weight.
func (m *Model) Knows(feature uint32) bool {
	from, to := m.find(feature)
	return to > from
}

func (m *Model) find(f uint32) (uint32, uint32) {
	mask := uint32(len(m.slots) - 1)
	for i := f & mask; ; i = (i + 1) & mask {
		s := &m.slots[i]
		if s.to == 0 {
			return 0, 0
		}
		if s.feature == f {
			return s.from, s.to
		}
	}
}

// Probabilities turns sums over n features into shares that add up to 1.
func (m *Model) Probabilities(sums []int32, n int) []float64 {
	out := make([]float64, len(sums))
	norm := m.scale * Norm(n)
	top := math.Inf(-1)
	for i, s := range sums {
		out[i] = float64(s) * norm
		top = math.Max(top, out[i])
	}
	total := 0.0
	for i := range out {
		out[i] = math.Exp(out[i] - top)
		total += out[i]
	}
	for i := range out {
		out[i] /= total
	}
	return out
}

// Norm is what each of n features weighs, so that long texts do not shout.
func Norm(n int) float64 {
	if n == 0 {
		return 1
	}
	return 1 / math.Sqrt(float64(n))
}

const magic = "TUBM1\n"

// ErrFormat says that bytes are no model.
var ErrFormat = errors.New("not a model of this version; train again")

// Marshal writes the model: the same model gives the same bytes.
func (m *Model) Marshal() []byte {
	out := []byte(magic)
	out = binary.LittleEndian.AppendUint64(out, math.Float64bits(m.scale))
	out = append(out, byte(len(m.classes)))
	for i, c := range m.classes {
		out = append(out, byte(len(c)))
		out = append(out, c...)
		out = binary.LittleEndian.AppendUint32(out, uint32(m.bias[i]))
	}
	features := m.sorted()
	out = binary.LittleEndian.AppendUint32(out, uint32(len(features)))
	for _, s := range features {
		out = binary.LittleEndian.AppendUint32(out, s.feature)
		out = append(out, byte(s.to-s.from))
		for _, c := range m.cells[s.from:s.to] {
			out = append(out, c.class, byte(c.weight))
		}
	}
	return out
}

func (m *Model) sorted() []slot {
	out := make([]slot, 0, len(m.slots)/2)
	for _, s := range m.slots {
		if s.to != 0 {
			out = append(out, s)
		}
	}
	sort.Slice(out, func(i, j int) bool { return out[i].feature < out[j].feature })
	return out
}

// Unmarshal reads what Marshal wrote. Errors wrap ErrFormat.
func Unmarshal(data []byte) (*Model, error) {
	r := reader{data: data}
	if string(r.take(len(magic))) != magic {
		return nil, fmt.Errorf("model: %w", ErrFormat)
	}
	m := &Model{scale: math.Float64frombits(r.uint64())}
	n := int(r.byte())
	for i := 0; i < n; i++ {
		m.classes = append(m.classes, string(r.take(int(r.byte()))))
		m.bias = append(m.bias, int32(r.uint32()))
	}
	count := int(r.uint32())
	if r.bad || count > len(data) {
		return nil, fmt.Errorf("model: %w", ErrFormat)
	}
	m.slots = make([]slot, tableSize(count))
	m.cells = make([]cell, 1, 1+(len(data)-r.at-5*count)/2)
	for i := 0; i < count && !r.bad; i++ {
		f := r.uint32()
		k := int(r.byte())
		from := uint32(len(m.cells))
		for j := 0; j < k; j++ {
			c := cell{r.byte(), int8(r.byte())}
			if int(c.class) >= n {
				r.bad = true
				break
			}
			m.cells = append(m.cells, c)
		}
		if k > 0 {
			m.insert(slot{f, from, uint32(len(m.cells))})
		}
	}
	if r.bad || r.at != len(data) {
		return nil, fmt.Errorf("model: %w", ErrFormat)
	}
	return m, nil
}

func tableSize(n int) int {
	size := 16
	for size < 2*n {
		size *= 2
	}
	return size
}

func (m *Model) insert(s slot) {
	mask := uint32(len(m.slots) - 1)
	i := s.feature & mask
	for m.slots[i].to != 0 {
		i = (i + 1) & mask
	}
	m.slots[i] = s
}

// reader takes bytes and remembers whether there were too few.
type reader struct {
	data []byte
	at   int
	bad  bool
}

func (r *reader) take(n int) []byte {
	if r.bad || n > len(r.data)-r.at {
		r.bad = true
		return make([]byte, n)
	}
	r.at += n
	return r.data[r.at-n : r.at]
}

func (r *reader) byte() byte     { return r.take(1)[0] }
func (r *reader) uint32() uint32 { return binary.LittleEndian.Uint32(r.take(4)) }
func (r *reader) uint64() uint64 { return binary.LittleEndian.Uint64(r.take(8)) }
