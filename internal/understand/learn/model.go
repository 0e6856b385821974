// Package learn holds a small classifier of texts: hashed features, each with a short
// row of integers, are added up, bent once and weighed for every class of every
// question asked. Training the same texts again gives the same bytes on one kind of
// machine.
package learn

import (
	"math"
)

// Model answers questions on a text, each by shares of belief in its classes. It is
// read-only and safe for concurrent use.
type Model struct {
	questions [][]string // the classes of each question
	hidden    int
	index     []slot    // open addressing by feature, a power of two
	rows      []byte    // hidden signed integers for each feature
	bias      []float32 // hidden, in units of the rows
	out       []float32 // hidden by all classes
	outBias   []float32 // all classes
}

type slot struct {
	feature uint32
	row     int32 // 1 and up; 0 marks a free slot
}

// leak is what a hidden unit below 0 keeps of its slope, so that it can still learn.
const leak = 0.1

// Classes returns the names of a question's classes in the order of its shares. The
// caller must not change the slice.
func (m *Model) Classes(question int) []string { return m.questions[question] }

// Shares returns, for each question, a share of belief in each class; they add up to 1.
// Features may repeat, and unknown ones count as words that say nothing.
func (m *Model) Shares(features []uint32) [][]float64 {
	bent := m.bend(features)
	logits := m.logits(bent)
	out := make([][]float64, len(m.questions))
	for q, classes := range m.questions {
		out[q], logits = logits[:len(classes):len(classes)], logits[len(classes):]
		share(out[q])
	}
	return out
}

// bend adds the rows of the features up and bends the sums.
func (m *Model) bend(features []uint32) []float64 {
	sums := make([]int32, m.hidden)
	sum := newLanes(m.hidden)
	for _, f := range features {
		if r := m.row(f); r != nil {
			sum.add(r, sums)
		}
	}
	sum.flush(sums)
	bent := make([]float64, m.hidden)
	norm := Norm(len(features))
	for j, s := range sums {
		bent[j] = float64(float64(s)*norm) + float64(m.bias[j])
		if bent[j] < 0 {
			bent[j] *= leak
		}
	}
	return bent
}

// logits weighs what is bent for every class. Each product is rounded by a conversion
// before it is added, so that no machine fuses the two.
func (m *Model) logits(bent []float64) []float64 {
	logits := make([]float64, len(m.outBias))
	for c, b := range m.outBias {
		logits[c] = float64(b)
	}
	for j, x := range bent {
		row := m.out[j*len(logits) : (j+1)*len(logits)]
		for c, w := range row {
			logits[c] += float64(x * float64(w))
		}
	}
	return logits
}

// Weights tells what each of the features spoke for (above 0) or against one class of a
// question, in logits: their sum, with what no feature brings, is the class's logit.
func (m *Model) Weights(features []uint32, question, class int) []float64 {
	at := class
	for _, classes := range m.questions[:question] {
		at += len(classes)
	}
	norm := Norm(len(features))
	slope := m.bend(features)
	for j, x := range slope {
		slope[j] = float64(m.out[j*len(m.outBias)+at]) * norm
		if x < 0 {
			slope[j] *= leak
		}
	}
	out := make([]float64, len(features))
	for i, f := range features {
		for j, w := range m.row(f) {
			out[i] += float64(int8(w)) * slope[j]
		}
	}
	return out
}

// Knows reports whether the feature has a row.
func (m *Model) Knows(feature uint32) bool { return m.row(feature) != nil }

// row returns a feature's integers, nil where there are none.
func (m *Model) row(f uint32) []byte {
	mask := uint32(len(m.index) - 1)
	for i := f & mask; ; i = (i + 1) & mask {
		s := &m.index[i]
		if s.row == 0 {
			return nil
		}
		if s.feature == f {
			from := int(s.row-1) * m.hidden
			return m.rows[from : from+m.hidden]
		}
	}
}

func (m *Model) insert(s slot) {
	mask := uint32(len(m.index) - 1)
	i := s.feature & mask
	for m.index[i].row != 0 {
		i = (i + 1) & mask
	}
	m.index[i] = s
}

func tableSize(n int) int {
	size := 16
	for size < 2*n {
		size *= 2
	}
	return size
}

// share turns logits into shares that add up to 1.
func share(x []float64) {
	top := math.Inf(-1)
	for _, v := range x {
		top = math.Max(top, v)
	}
	total := 0.0
	for i, v := range x {
		x[i] = math.Exp(v - top)
		total += x[i]
	}
	for i := range x {
		x[i] /= total
	}
}

// Norm is what each of n features weighs, so that long texts do not shout.
func Norm(n int) float64 {
	if n == 0 {
		return 1
	}
	return 1 / math.Sqrt(float64(n))
}
