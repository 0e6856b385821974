package corpus_test

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/understand"
	"tubhand/internal/understand/corpus"
	"tubhand/internal/understand/learn"
)

const lines = `{"id":"1","text":"3 7.4","asked":"readings","asked_readings":["free_chlorine_ppm","ph"],"want":{"intent":"answer","readings":{"free_chlorine_ppm":3,"ph":7.4},"hazard":"none","severity":"none","clarify":false}}
{"id":"2","text":"ph 74","asked":"readings","asked_readings":["ph"],"want":{"intent":"answer","hazard":"none","severity":"none","clarify":false}}

{"id":"3","text":"400 gallons","asked":"volume","want":{"intent":"answer","volume":{"us_gal":300},"hazard":"none","severity":"none","clarify":false}}
`

func TestReadAndCompare(t *testing.T) {
	samples, err := corpus.Read("x.jsonl", strings.NewReader(lines))
	require.NoError(t, err)
	require.Len(t, samples, 3)
	require.Equal(t, "x.jsonl:4", samples[2].Label)
	right := corpus.Compare(understand.BuiltIn(), samples[0])
	require.Empty(t, right.Missed)
	require.Empty(t, right.Wrong)
	require.True(t, corpus.Compare(understand.BuiltIn(), samples[1]).AskedNeedlessly)
	require.False(t, corpus.Compare(understand.BuiltIn(), samples[2]).VolumeRight)
	var out bytes.Buffer
	report := corpus.Evaluate(understand.BuiltIn(), samples)
	report.WriteErrors(&out)
	report.WriteTotals(&out)
	report.WriteConfusion(&out)
	require.Contains(t, out.String(), "x.jsonl:2")
	require.Contains(t, out.String(), "volumes right                        0 of 1")
}

func TestReadNamesFileAndLine(t *testing.T) {
	for _, bad := range []string{`{`, `{"id":"1","text":"a"}`, `{"id":"1","text":"a","want":{"readings":{"ph":[null,null]}}}`, `{"text":"a","lang":"xx","want":{}}`} {
		_, err := corpus.Read("x.jsonl", strings.NewReader("\n"+bad+"\n"))
		require.ErrorContains(t, err, "x.jsonl:2", bad)
	}
}

func TestTrainingOnTextsTeachesThem(t *testing.T) {
	samples, err := corpus.Read("x.jsonl", strings.NewReader(strings.Repeat(lines+
		`{"text":"all done here","want":{"intent":"done","hazard":"none","severity":"none"}}`+"\n"+
		`{"text":"drain it please","want":{"intent":"start_service","service":"drain","hazard":"none","severity":"none"}}`+"\n", 8)))
	require.NoError(t, err)
	model, err := corpus.Train(samples, learn.Usual())
	require.NoError(t, err)
	m := understand.NewReader(model).Understand("drain it please", understand.Context{})
	require.Equal(t, understand.StartService, m.Intent)
	require.Equal(t, "drain", m.Service)
}
