package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// waterAnswers runs the batch command over lines and decodes its answers.
func waterAnswers(t *testing.T, lines ...string) []map[string]any {
	t.Helper()
	var out, problems bytes.Buffer
	status := runWater([]string{"--batch"}, strings.NewReader(strings.Join(lines, "\n")), &out, &problems)
	require.Equal(t, strings.Contains(out.String(), `"error"`), status == 1, "a bad line, and only that, is told by the status")
	require.Equal(t, status == 1, problems.Len() > 0)
	var answers []map[string]any
	for _, line := range strings.Split(strings.TrimSpace(out.String()), "\n") {
		var answer map[string]any
		require.NoError(t, json.Unmarshal([]byte(line), &answer), line)
		answers = append(answers, answer)
	}
	return answers
}

func TestWaterBatchKeepsOrderAndIDs(t *testing.T) {
	answers := waterAnswers(t,
		`{"id":7,"op":"index","water":{"ph":7.5,"total_alkalinity":100,"calcium_hardness":180}}`,
		``,
		`{"id":"x","op":"index","water":{"ph":7.5,"total_alkalinity":100}}`,
		`not json`,
		`{"id":{"a":1},"op":"chlorine","water":{"ph":7.4,"free_chlorine":4,"cyanuric_acid":30}}`,
		`{"id":"late","op":"fly"}`,
		`{"op":"chlorine","water":{"ph":7.4,"free_chlorine":4}}`,
		`{"id":"cut","op":"index","water":{"ph":`,
	)
	require.Len(t, answers, 7)
	require.InDelta(t, 7.0, answers[0]["id"], 0)
	require.Contains(t, answers[1]["error"], "calcium_hardness")
	require.Equal(t, "x", answers[1]["id"])
	require.Nil(t, answers[2]["id"])
	require.Contains(t, answers[2]["error"], "JSON")
	require.Equal(t, map[string]any{"a": 1.0}, answers[3]["id"])
	require.Contains(t, answers[4]["error"], "op")
	require.Nil(t, answers[5]["id"])
	require.NotContains(t, answers[5], "error")
	require.Equal(t, "cut", answers[6]["id"])
}

func TestWaterOperations(t *testing.T) {
	answers := waterAnswers(t,
		`{"id":1,"op":"index","water":{"ph":7.5,"total_alkalinity":100,"calcium_hardness":180,"temp_c":25,"tds":500}}`,
		`{"id":2,"op":"predict","water":{"volume_l":1000,"ph":8,"total_alkalinity":120},"add":[{"chemical":"hydrochloric_acid_pure","grams":10.9383}]}`,
		`{"id":3,"op":"aerate","water":{"total_alkalinity":80},"pco2_atm":0.0003981}`,
		`{"id":4,"op":"chlorine","water":{"ph":7.4,"temp_c":25,"free_chlorine":4,"cyanuric_acid":30,"tds":0}}`,
		`{"id":5,"op":"chlorine","water":{"ph":7.4,"temp_c":25,"free_chlorine":4,"cyanuric_acid":30,"tds":0},"constants":"obrien_1974"}`,
		`{"id":6,"op":"amount","water":{"volume_l":1000},"chemical":"sodium_bicarbonate","target":{"total_alkalinity":10}}`,
		`{"id":7,"op":"predict","water":{"volume_l":1000},"add":[{"chemical":"boric_acid","grams":57.19}]}`,
	)
	number := func(i int, path ...string) float64 {
		var v any = answers[i]
		for _, key := range path {
			v = v.(map[string]any)[key]
		}
		require.IsType(t, 0.0, v, "%v of %v", path, answers[i])
		return v.(float64)
	}
	require.InDelta(t, 7.5-number(0, "ph_s"), number(0, "saturation_index_standard_methods"), 1e-9)
	require.InDelta(t, number(0, "saturation_index"), number(0, "saturation_index_standard_methods"), 0.05)
	require.InDelta(t, 7.1, number(1, "water", "ph"), 0.1, "0.3 mmol/L of acid takes pH 8.0 to about 7.1 at 38 C and alkalinity 120")
	require.InDelta(t, 105, number(1, "water", "total_alkalinity"), 0.05)
	require.InDelta(t, 8.4, number(2, "water", "ph"), 0.1, "air and alkalinity 80 at 38 C")
	require.InDelta(t, 0.043, number(3, "hocl_mg_l"), 0.001)
	require.Greater(t, number(4, "hocl_mg_l"), 1.3*number(3, "hocl_mg_l"))
	require.InDelta(t, 4, number(3, "hocl_mg_l")+number(3, "ocl_mg_l")+number(3, "cyanurate_bound_mg_l"), 1e-6)
	require.InDelta(t, 100*number(3, "hocl_mg_l")/4, number(3, "hocl_percent"), 1e-6)
	require.InDelta(t, 16.79, number(5, "grams"), 0.01, "stoichiometry")
	require.NotContains(t, answers[6]["water"], "ph", "no pH was given")
	require.InDelta(t, 10, number(6, "water", "borate_b"), 0.01)
}

func TestWaterPlan(t *testing.T) {
	answers := waterAnswers(t,
		`{"id":1,"op":"plan","water":{"volume_l":1400,"ph":[7.8,8.2],"total_alkalinity":[80,120],"calcium_hardness":150,"free_chlorine":[0,1]},"sanitizer":"chlorine","chemicals":["sodium_bisulfate",{"chemical":"sodium_dichlor_dihydrate","grams_per_teaspoon":4.6}]}`,
		`{"id":2,"op":"plan","water":{"volume_l":1400,"ph":7.4,"total_alkalinity":95,"calcium_hardness":160,"free_chlorine":4},"sanitizer":"chlorine","chemicals":[]}`,
		`{"id":3,"op":"plan","water":{"volume_l":1400,"ph":7.4,"total_alkalinity":95,"free_chlorine":[10,null],"cyanuric_acid":100},"sanitizer":"chlorine"}`,
		`{"id":4,"op":"plan","water":{"ph":7.4,"total_alkalinity":95,"free_chlorine":1},"sanitizer":"chlorine","chemicals":["sodium_hypochlorite_10"]}`,
		`{"id":5,"op":"plan","water":{"volume_l":1400,"ph":7.4,"total_alkalinity":95,"bromine":1,"calcium_hardness":600},"sanitizer":"bromine","chemicals":["potassium_monopersulfate"],"fill":{"calcium_hardness":50}}`,
	)
	require.Equal(t, "no", answers[0]["soak"])
	additions := answers[0]["additions"].([]any)
	require.Len(t, additions, 2)
	first := additions[0].(map[string]any)
	require.Equal(t, "sodium_bisulfate", first["chemical"])
	require.Equal(t, "lower_ph", first["why"])
	require.InDelta(t, 30, first["wait_min"], 1e-9)
	require.Contains(t, additions[1].(map[string]any)["measure"], "level teaspoon")
	require.Equal(t, []any{"free_chlorine", "ph", "total_alkalinity"}, answers[0]["retest"])
	require.Contains(t, strings.Join(stringsOf(answers[0]["cautions"]), " "), "chlorine gas")
	require.Equal(t, "yes", answers[1]["soak"])
	require.Equal(t, []any{}, answers[1]["additions"])
	require.NotContains(t, answers[1], "drain_fraction")
	require.Equal(t, "person_soon", answers[2]["severity"])
	require.InDelta(t, 0.7, answers[2]["drain_fraction"], 1e-9)
	require.Empty(t, answers[3]["additions"], "no volume, no dose")
	require.Len(t, answers[4]["additions"], 1)
	require.InDelta(t, math.Ceil(100*350.0/550)/100, answers[4]["drain_fraction"], 1e-9)
}

func stringsOf(list any) []string {
	var out []string
	for _, v := range list.([]any) {
		out = append(out, v.(string))
	}
	return out
}

func TestWaterBadLinesNameTheirField(t *testing.T) {
	for _, c := range []struct{ line, want string }{
		{`{"id":1,"op":"index","water":{"alkalinity":100}}`, "water.alkalinity"},
		{`{"id":1,"op":"index","water":{"ph":"7"}}`, "water.ph"},
		{`{"id":1,"op":"index","water":{"ph":1e999}}`, "water.ph"},
		{`{"id":1,"op":"index","water":{"ph":[7,8],"total_alkalinity":100,"calcium_hardness":100}}`, "water.ph"},
		{`{"id":1,"op":"predict","water":{"ph":7,"volume_l":-1},"add":[]}`, "volume_l"},
		{`{"id":1,"op":"predict","water":{"ph":7,"volume_l":1000},"add":[{"chemical":"borax"}]}`, "grams"},
		{`{"id":1,"op":"predict","water":{"ph":7,"volume_l":1000},"add":[{"chemical":"vinegar","grams":1}]}`, "vinegar"},
		{`{"id":1,"op":"amount","water":{"volume_l":1000},"chemical":"borax","target":{}}`, "target"},
		{`{"id":1,"op":"amount","water":{"volume_l":1000},"chemical":"borax","target":{"colour":1}}`, "colour"},
		{`{"id":1,"op":"aerate","water":{"total_alkalinity":80},"pco2_atm":-1}`, "pco2_atm"},
		{`{"id":1,"op":"chlorine","water":{"ph":7},"constants":"mine"}`, "constants"},
		{`{"id":1,"op":"plan","water":{"ph":[7,8,9]},"sanitizer":"chlorine"}`, "water.ph"},
		{`{"id":1,"op":"plan","water":{"ph":7},"sanitizer":"salt"}`, "sanitizer"},
		{`{"id":1,"op":"plan","water":{"ph":7},"sanitizer":"chlorine","fill":{"x":1}}`, "fill"},
		{`{"id":1,"op":"plan","water":{"ph":7},"sanitizer":"chlorine","chemicals":[{"chemical":"borax","spoon":4}]}`, "spoon"},
		{`{"id":1,"op":"index","water":{},"pc02_atm":1}`, "pc02_atm"},
		{`{"id":1} {"id":2}`, "more than one"},
	} {
		answers := waterAnswers(t, c.line)
		require.Contains(t, answers[0]["error"], c.want, c.line)
		require.InDelta(t, 1, answers[0]["id"], 0, c.line)
	}
}

func TestWaterExitStatus(t *testing.T) {
	good := `{"id":1,"op":"chlorine","water":{"ph":7.4,"free_chlorine":4}}`
	for _, c := range []struct {
		name   string
		args   []string
		in     string
		status int
		says   string
	}{
		{"good", nil, good, 0, ""},
		{"over several lines", nil, strings.ReplaceAll(good, ",", ",\n"), 0, ""},
		{"bad", nil, `{"id":2,"op":"chlorine","water":{"ph":99}}`, 1, "ph: 99"},
		{"bad line in a batch", []string{"--batch"}, good + "\n{", 1, "line 2:"},
		{"unknown flag", []string{"--fast"}, "", 2, "usage"},
		{"an argument", []string{"water.json"}, "", 2, "water.json"},
		{"help", []string{"--help"}, "", 0, "usage"},
	} {
		var out, problems bytes.Buffer
		require.Equal(t, c.status, runWater(c.args, strings.NewReader(c.in), &out, &problems), c.name)
		require.Contains(t, problems.String(), c.says, c.name)
	}
}

func TestWaterStreams(t *testing.T) {
	in, feed := io.Pipe()
	read, out := io.Pipe()
	done := make(chan int, 1)
	go func() {
		done <- runWater([]string{"--batch"}, in, out, io.Discard)
		out.Close()
	}()
	answers := bufio.NewScanner(read)
	for range 3 { // each answer comes before the next line goes in
		_, err := io.WriteString(feed, `{"id":1,"op":"chlorine","water":{"ph":7.4,"free_chlorine":4}}`+"\n")
		require.NoError(t, err)
		require.True(t, answers.Scan())
		require.Contains(t, answers.Text(), "hocl_mg_l")
	}
	feed.Close()
	require.Zero(t, <-done)
}

// brokenPipe is an output or input that fails.
type brokenPipe struct{}

func (brokenPipe) Write([]byte) (int, error) { return 0, errors.New("broken pipe") }
func (brokenPipe) Read([]byte) (int, error)  { return 0, errors.New("broken pipe") }

func TestWaterSaysWhenItCannotReadOrWrite(t *testing.T) {
	var problems bytes.Buffer
	line := strings.NewReader(`{"id":1,"op":"chlorine","water":{"ph":7.4}}`)
	require.Equal(t, 1, runWater([]string{"--batch"}, line, brokenPipe{}, &problems))
	require.Contains(t, problems.String(), "writing")
	problems.Reset()
	require.Equal(t, 1, runWater([]string{"--batch"}, brokenPipe{}, io.Discard, &problems))
	require.Contains(t, problems.String(), "broken pipe")
}

func FuzzWaterLine(f *testing.F) {
	f.Add([]byte(`{"id":1,"op":"plan","water":{"volume_l":1400,"ph":[7.8,null]},"sanitizer":"chlorine","chemicals":["borax"]}`))
	f.Add([]byte(`{"id":"a","op":"predict","water":{"volume_l":1000,"ph":8},"add":[{"chemical":"borax","grams":1e5}]}`))
	f.Add([]byte(`{"id":[1,{"op":"amount"}],"op":"amount"`))
	f.Fuzz(func(t *testing.T, line []byte) {
		line = bytes.ReplaceAll(line, []byte("\n"), []byte(" "))
		var out bytes.Buffer
		status := runWater([]string{"--batch"}, bytes.NewReader(line), &out, io.Discard)
		if len(bytes.TrimSpace(line)) == 0 {
			require.Empty(t, out.String())
			return
		}
		var answer map[string]json.RawMessage
		require.NoError(t, json.Unmarshal(out.Bytes(), &answer), "one JSON object for any line: %q", out.String())
		require.Contains(t, answer, "id")
		_, bad := answer["error"]
		require.Equal(t, bad, status == 1)
		require.Equal(t, 1, bytes.Count(out.Bytes(), []byte("\n")))
	})
}
