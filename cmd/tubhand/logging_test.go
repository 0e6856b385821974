package main

import (
	"bytes"
	"errors"
	"log/slog"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

func TestLogsHoldNoNumbersAndNoTexts(t *testing.T) {
	var out bytes.Buffer
	log := newLog(&out, "")
	log.Debug("not at info")
	log.Error("text from +15415550142", "from", "+15415550142", "text", "my code is 1234", "count", 7,
		"error", errors.New("turn of +15415550142: no"), "path", "/x?from=%2B15415550142", "took", time.Second,
		slog.Group("g", "to", "+442079460123", "body", "hello"))
	got := out.String()
	require.NotContains(t, got, "not at info")
	require.NotContains(t, got, "5550142")
	require.NotContains(t, got, "9460123")
	require.NotContains(t, got, "1234")
	require.NotContains(t, got, "hello")
	require.Contains(t, got, `"from":"+1541555…42"`)
	require.Contains(t, got, `"error":"turn of +1541555…42: no"`)
	require.Contains(t, got, `"text":"(15 characters)"`)
	require.Contains(t, got, `"count":7`)
	require.Contains(t, got, `"level":"ERROR"`)

	out.Reset()
	newLog(&out, "debug").Debug("more", "list", []string{"+15415550142"})
	require.Contains(t, out.String(), "more")
	require.NotContains(t, out.String(), "5550142")
}
