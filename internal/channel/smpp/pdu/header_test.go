package pdu_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tubhand/internal/channel/smpp/pdu"
)

// The two headers as TS 23.040 sections 9.2.3.24.1 and 9.2.3.24.8 lay them out.
func TestConcatHeaders(t *testing.T) {
	require.Equal(t, []byte{5, 0, 3, 0x2A, 3, 2}, pdu.Concat{Reference: 0x2A, Total: 3, Sequence: 2}.Header())
	require.Equal(t, []byte{6, 8, 4, 0x12, 0x34, 2, 1}, pdu.Concat{Reference: 0x1234, Wide: true, Total: 2, Sequence: 1}.Header())
	rapid.Check(t, func(t *rapid.T) {
		total := rapid.ByteMin(1).Draw(t, "total")
		c := pdu.Concat{Reference: rapid.Uint16().Draw(t, "reference"), Wide: rapid.Bool().Draw(t, "wide"),
			Total: total, Sequence: rapid.ByteRange(1, total).Draw(t, "sequence")}
		if !c.Wide {
			c.Reference &= 0xFF
		}
		text := rapid.SliceOf(rapid.Byte()).Draw(t, "text")
		elements, rest, err := pdu.CutHeader(append(c.Header(), text...))
		require.NoError(t, err)
		require.Equal(t, len(text), len(rest))
		got, ok := pdu.FindConcat(elements)
		require.True(t, ok)
		require.Equal(t, c, got)
	})
}

func TestOddHeaders(t *testing.T) {
	for name, raw := range map[string][]byte{
		"nothing": {}, "longer than the text": {5, 0, 3, 1}, "an element cut short": {3, 0, 3, 1, 'a'}, "half an element": {1, 0, 'a'},
	} {
		_, _, err := pdu.CutHeader(raw)
		require.ErrorIs(t, err, pdu.ErrHeader, name)
	}
	for name, raw := range map[string][]byte{
		"part 0": {5, 0, 3, 1, 2, 0}, "part 3 of 2": {5, 0, 3, 1, 2, 3}, "a length of its own": {4, 0, 2, 1, 2}, "another element": {3, 0x24, 1, 2},
	} {
		elements, _, err := pdu.CutHeader(raw)
		require.NoError(t, err, name)
		_, ok := pdu.FindConcat(elements)
		require.False(t, ok, name)
	}
	elements, rest, err := pdu.CutHeader([]byte{8, 0x24, 1, 2, 0, 3, 7, 2, 1, 'h', 'i'})
	require.NoError(t, err)
	require.Equal(t, "hi", string(rest))
	c, ok := pdu.FindConcat(elements)
	require.True(t, ok, "beside a language element")
	require.Equal(t, pdu.Concat{Reference: 7, Total: 2, Sequence: 1}, c)
}

func FuzzCutHeader(f *testing.F) {
	f.Add([]byte{5, 0, 3, 0x2A, 3, 2, 'a'})
	f.Add([]byte{0})
	f.Fuzz(func(t *testing.T, raw []byte) {
		elements, rest, err := pdu.CutHeader(raw)
		if err != nil {
			return
		}
		size := 1
		for _, e := range elements {
			size += 2 + len(e.Data)
		}
		require.Equal(t, len(raw), size+len(rest), "every octet is in one place")
		if c, ok := pdu.FindConcat(elements); ok {
			require.True(t, c.Sequence >= 1 && c.Sequence <= c.Total)
		}
	})
}
