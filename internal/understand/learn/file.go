package learn

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"sort"
)

const magic = "TUBM2\n"

// ErrFormat says that bytes are no model.
var ErrFormat = errors.New("not a model of this version; train again")

// Marshal writes the model: the same model gives the same bytes.
func (m *Model) Marshal() []byte {
	out := append([]byte(magic), byte(len(m.questions)), byte(m.hidden))
	for _, classes := range m.questions {
		out = append(out, byte(len(classes)))
		for _, c := range classes {
			out = append(out, byte(len(c)))
			out = append(out, c...)
		}
	}
	for _, list := range [...][]float32{m.bias, m.out, m.outBias} {
		for _, w := range list {
			out = binary.LittleEndian.AppendUint32(out, math.Float32bits(w))
		}
	}
	known := make([]slot, 0, len(m.rows)/max(1, m.hidden))
	for _, s := range m.index {
		if s.row != 0 {
			known = append(known, s)
		}
	}
	sort.Slice(known, func(i, j int) bool { return known[i].feature < known[j].feature })
	out = binary.LittleEndian.AppendUint32(out, uint32(len(known)))
	for _, s := range known {
		out = binary.LittleEndian.AppendUint32(out, s.feature)
	}
	for _, s := range known {
		out = append(out, m.row(s.feature)...)
	}
	return out
}

// Unmarshal reads what Marshal wrote and keeps the bytes. Errors wrap ErrFormat.
func Unmarshal(data []byte) (*Model, error) {
	r := reader{data: data}
	if string(r.take(len(magic))) != magic {
		return nil, fmt.Errorf("model: %w", ErrFormat)
	}
	m := &Model{questions: make([][]string, r.byte()), hidden: int(r.byte())}
	classes := 0
	for q := range m.questions {
		m.questions[q] = make([]string, r.byte())
		for c := range m.questions[q] {
			m.questions[q][c] = string(r.take(int(r.byte())))
		}
		classes += len(m.questions[q])
	}
	m.bias = r.floats(m.hidden)
	m.out = r.floats(m.hidden * classes)
	m.outBias = r.floats(classes)
	count := int(r.uint32())
	if r.bad || m.hidden == 0 || count > len(data)/4 {
		return nil, fmt.Errorf("model: %w", ErrFormat)
	}
	m.index = make([]slot, tableSize(count))
	for i := range count {
		m.insert(slot{r.uint32(), int32(i + 1)})
	}
	m.rows = r.take(count * m.hidden)
	if r.bad || r.at != len(data) {
		return nil, fmt.Errorf("model: %w", ErrFormat)
	}
	return m, nil
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
		return nil
	}
	r.at += n
	return r.data[r.at-n : r.at]
}

func (r *reader) byte() byte {
	if b := r.take(1); b != nil {
		return b[0]
	}
	return 0
}

func (r *reader) uint32() uint32 {
	if b := r.take(4); b != nil {
		return binary.LittleEndian.Uint32(b)
	}
	return 0
}

func (r *reader) floats(n int) []float32 {
	if r.bad || n > (len(r.data)-r.at)/4 {
		r.bad = true
		return nil
	}
	out := make([]float32, n)
	for i := range out {
		out[i] = math.Float32frombits(r.uint32())
	}
	return out
}
