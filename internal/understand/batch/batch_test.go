package batch_test

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/understand/batch"
)

func TestLine(t *testing.T) {
	answer, err := batch.Line([]byte(`{"id":"a1","text":"3 7.4","asked":"readings","asked_readings":["free_chlorine_ppm","ph"]}`))
	require.NoError(t, err)
	require.JSONEq(t, `{"id":"a1","lang":"en","intent":"answer","readings":{"free_chlorine_ppm":3,"ph":7.4},"hazard":"none","severity":"none","clarify":false}`, string(answer))
}

func TestBadLines(t *testing.T) {
	for line, field := range map[string]string{
		`{"id":7}`: "text", `{"id":7,"text":"a","lang":"fr"}`: "lang", `{"id":7,"text":"a","asked":"tea"}`: "asked", `{"id":7,"text":5}`: "text",
		`{"id":7,"text":"a","asked_readings":["iron"]}`: "asked_readings", `{"id":7,"text":"a","proposed":{"iron":1}}`: "proposed",
	} {
		answer, err := batch.Line([]byte(line))
		require.ErrorContains(t, err, field, line)
		var got struct {
			ID    int
			Error string
		}
		require.NoError(t, json.Unmarshal(answer, &got))
		require.Equal(t, 7, got.ID)
		require.NotEmpty(t, got.Error)
	}
	answer, err := batch.Line([]byte("not json"))
	require.Error(t, err)
	require.Contains(t, string(answer), `"id":null`)
}

// FuzzLine holds that any bytes are answered by one line of JSON.
func FuzzLine(f *testing.F) {
	f.Add([]byte(`{"id":1,"text":"done"}`))
	f.Add([]byte(`{"id":{"a":[1]},"text":"\ud800"}`))
	f.Fuzz(func(t *testing.T, line []byte) {
		answer, _ := batch.Line(line)
		require.True(t, json.Valid(answer))
		require.NotContains(t, string(answer), "\n")
	})
}
