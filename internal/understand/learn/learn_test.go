package learn_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/understand/learn"
)

// examples are two kinds of text told apart by one feature each, and noise.
func examples() []learn.Example {
	var out []learn.Example
	for i := range 60 {
		noise := uint32(1000 + i%7)
		out = append(out, learn.Example{Features: []uint32{1, noise}, Class: 0, Weight: 1}, learn.Example{Features: []uint32{2, noise}, Class: 1, Weight: 1})
	}
	return out
}

func TestLearnsWhatTellsTheClassesApart(t *testing.T) {
	m, err := learn.Train(examples(), []string{"cold", "hot"}, learn.Usual())
	require.NoError(t, err)
	sums := make([]int32, 2)
	m.Score([]uint32{2, 1003}, sums)
	p := m.Probabilities(sums, 2)
	require.Greater(t, p[1], 0.8)
	require.InDelta(t, 1, p[0]+p[1], 1e-9)
	require.Positive(t, m.Weight(2, 1))
	require.Zero(t, m.Weight(77, 1))
	require.True(t, m.Knows(1))
	require.False(t, m.Knows(77))
}

func TestTrainingAgainGivesTheSameBytes(t *testing.T) {
	a, err := learn.Train(examples(), []string{"cold", "hot"}, learn.Usual())
	require.NoError(t, err)
	b, err := learn.Train(examples(), []string{"cold", "hot"}, learn.Usual())
	require.NoError(t, err)
	require.Equal(t, a.Marshal(), b.Marshal())
	back, err := learn.Unmarshal(a.Marshal())
	require.NoError(t, err)
	require.Equal(t, a.Marshal(), back.Marshal())
}

func TestTrainRefuses(t *testing.T) {
	_, err := learn.Train(nil, nil, learn.Usual())
	require.ErrorContains(t, err, "classes")
	_, err = learn.Train([]learn.Example{{Class: 3}}, []string{"a"}, learn.Usual())
	require.ErrorContains(t, err, "example 0")
}

// FuzzUnmarshal holds that any bytes are read or refused, and that what is read is
// written back the same.
func FuzzUnmarshal(f *testing.F) {
	m, err := learn.Train(examples(), []string{"cold", "hot"}, learn.Usual())
	require.NoError(f, err)
	f.Add(m.Marshal())
	f.Add([]byte("TUBM1\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		m, err := learn.Unmarshal(data)
		if err != nil {
			require.ErrorIs(t, err, learn.ErrFormat)
			return
		}
		sums := make([]int32, len(m.Classes()))
		m.Score([]uint32{1, 2, 3}, sums)
		require.Len(t, m.Probabilities(sums, 3), len(sums))
	})
}
