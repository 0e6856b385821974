package learn_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/understand/learn"
)

var questions = [][]string{{"cold", "hot"}, {"dry", "wet"}}

// examples are two kinds of text told apart by one feature each, and noise; the second
// question is answered by half of them.
func examples() []learn.Example {
	var out []learn.Example
	for i := range 60 {
		noise := uint32(1000 + i%7)
		out = append(out,
			learn.Example{Features: []uint32{1, noise}, Classes: []int{0, -1}},
			learn.Example{Features: []uint32{2, noise, uint32(5 + i%2)}, Classes: []int{1, i % 2}})
	}
	return out
}

func trained(t testing.TB) *learn.Model {
	settings := learn.Usual()
	settings.Epochs = 30
	m, err := learn.Train(examples(), questions, settings)
	require.NoError(t, err)
	return m
}

func TestLearnsWhatTellsTheClassesApart(t *testing.T) {
	m := trained(t)
	shares := m.Shares([]uint32{2, 1003, 6})
	require.Greater(t, shares[0][1], 0.8)
	require.Greater(t, shares[1][1], 0.8)
	require.InDelta(t, 1, shares[0][0]+shares[0][1], 1e-9)
	require.Greater(t, m.Shares([]uint32{1, 1003})[0][0], 0.8)
	require.True(t, m.Knows(1))
	require.False(t, m.Knows(77))
}

// TestWeightsAddUp holds that what each feature is said to weigh, with what no feature
// brings, makes the shares: the explanation is the sum itself, not a story about it.
func TestWeightsAddUp(t *testing.T) {
	m := trained(t)
	features := []uint32{2, 1003, 5, 77}
	cold, hot := m.Weights(features, 0, 0), m.Weights(features, 0, 1)
	require.Zero(t, hot[3])
	require.Greater(t, hot[0], hot[1])
	without := m.Shares([]uint32{77, 77, 77, 77})
	odds := math.Log(without[0][1] / without[0][0])
	bias := 0.0
	for i := range features {
		odds += hot[i] - cold[i]
		bias += math.Abs(hot[i] - cold[i])
	}
	shares := m.Shares(features)
	// Units that bend differently without the features differ by their bias alone.
	require.InDelta(t, math.Log(shares[0][1]/shares[0][0]), odds, 0.05*bias)
}

func TestTrainingAgainGivesTheSameBytes(t *testing.T) {
	a, b := trained(t), trained(t)
	require.Equal(t, a.Marshal(), b.Marshal())
	back, err := learn.Unmarshal(a.Marshal())
	require.NoError(t, err)
	require.Equal(t, a.Marshal(), back.Marshal())
	require.Equal(t, a.Shares([]uint32{2, 5}), back.Shares([]uint32{2, 5}))
}

func TestTrainRefuses(t *testing.T) {
	_, err := learn.Train(nil, nil, learn.Usual())
	require.ErrorContains(t, err, "0 questions")
	_, err = learn.Train(nil, [][]string{{}}, learn.Usual())
	require.ErrorContains(t, err, "question 0 has 0 classes")
	_, err = learn.Train([]learn.Example{{Classes: []int{3}}}, [][]string{{"a"}}, learn.Usual())
	require.ErrorContains(t, err, "example 0")
	_, err = learn.Train([]learn.Example{{}}, [][]string{{"a"}}, learn.Usual())
	require.ErrorContains(t, err, "answers 0 of 1")
}

// FuzzUnmarshal holds that any bytes are read or refused, and that what is read is
// written back the same.
func FuzzUnmarshal(f *testing.F) {
	f.Add(trained(f).Marshal())
	f.Add([]byte("TUBM2\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		m, err := learn.Unmarshal(data)
		if err != nil {
			require.ErrorIs(t, err, learn.ErrFormat)
			return
		}
		for q, shares := range m.Shares([]uint32{1, 2, 3}) {
			require.Len(t, shares, len(m.Classes(q)))
		}
	})
}
