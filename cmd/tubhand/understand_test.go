package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestUnderstandAnswersEachLineInOrder(t *testing.T) {
	in := `{"id":"a","text":"done","asked":"done"}
{"id":"b","text":5}

{"id":"c","text":"stop"}`
	var out, errs bytes.Buffer
	require.Equal(t, 1, runUnderstand([]string{"--batch"}, strings.NewReader(in), &out, &errs))
	require.Contains(t, errs.String(), "line 2")
	lines := strings.Split(strings.TrimSpace(out.String()), "\n")
	require.Len(t, lines, 3)
	for i, id := range []string{"a", "b", "c"} {
		var got struct{ ID, Intent, Error string }
		require.NoError(t, json.Unmarshal([]byte(lines[i]), &got))
		require.Equal(t, id, got.ID)
		require.Equal(t, i == 1, got.Error != "")
	}
	require.Contains(t, lines[2], "stop_messages")
}

func TestUnderstandStreams(t *testing.T) {
	reader, writer := io.Pipe()
	answers, out := io.Pipe()
	go func() {
		runUnderstand([]string{"--batch"}, reader, out, io.Discard)
		out.Close()
	}()
	lines := bufio.NewScanner(answers)
	for range 3 {
		_, err := io.WriteString(writer, `{"id":1,"text":"yes"}`+"\n")
		require.NoError(t, err)
		require.True(t, lines.Scan(), "answered before the input ends")
	}
	require.NoError(t, writer.Close())
	require.False(t, lines.Scan())
}

func TestUnderstandOneAndWrongUsage(t *testing.T) {
	var out, errs bytes.Buffer
	require.Equal(t, 0, runUnderstand(nil, strings.NewReader(`{"id":1,`+"\n"+`"text":"7.4","asked":"readings","asked_readings":["ph"]}`), &out, &errs))
	require.Contains(t, out.String(), `"ph":7.4`)
	require.Equal(t, 2, runUnderstand([]string{"--nonsense"}, strings.NewReader(""), &out, &errs))
	require.Equal(t, 2, runUnderstand([]string{"text"}, strings.NewReader(""), &out, &errs))
	require.Equal(t, 1, runUnderstand(nil, strings.NewReader(""), &out, &errs))
}

func TestTrainAndEvaluate(t *testing.T) {
	texts, weights := t.TempDir(), filepath.Join(t.TempDir(), "texts.bin")
	line := `{"id":"1","text":"all done","want":{"intent":"done","hazard":"none","severity":"none","clarify":false}}` + "\n"
	require.NoError(t, os.WriteFile(filepath.Join(texts, "a.jsonl"), []byte(strings.Repeat(line, 3)), 0o644))
	require.NoError(t, os.WriteFile(filepath.Join(texts, "b.jsonl"), []byte(strings.Repeat(line, 3)), 0o644))
	trained := tubhand(t, "train", "-texts", texts, "-out", weights)
	require.Equal(t, 0, trained.code, trained.err)
	require.Contains(t, trained.out, "trained on 6 texts")
	require.FileExists(t, weights)
	for _, args := range [][]string{{"-detail"}, {"-leave-out", "each"}, {"-leave-out", "a,b"}} {
		got := tubhand(t, append([]string{"evaluate", "-texts", texts}, args...)...)
		require.Equal(t, 0, got.code, got.err)
		require.Contains(t, got.out, "texts with the right intent")
	}
	require.Equal(t, 1, tubhand(t, "evaluate", "-texts", filepath.Dir(weights)).code)
	require.Equal(t, 2, tubhand(t, "evaluate", "extra").code)
}
