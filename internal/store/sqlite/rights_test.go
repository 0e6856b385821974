package sqlite_test

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/sqlite"
	"tubhand/internal/store/storetest"
)

// What was erased is in no file any more once the store is closed, and the file is sound.
func TestErasedWordsAreNotInTheFile(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "tubhand.db")
	s, err := sqlite.Open(path, sqlite.Options{})
	require.NoError(t, err)
	now := time.Date(2026, 6, 13, 12, 0, 0, 0, time.UTC)
	for i, who := range []string{"+15415550142", "+15415550143"} {
		for v := range int64(40) {
			state := storetest.State("fern", who)
			state.Version = v
			l := conversation.Line{ID: state.ID + "." + string(rune('a'+v)), At: now.AddDate(0, 0, int(v)), Direction: conversation.In, Text: []string{"my secret pool", "my open words"}[i]}
			require.NoError(t, s.Commit(t.Context(), store.Turn{Shop: "fern", Now: l.At, State: state, Effects: conversation.Effects{Lines: []conversation.Line{l}}}))
		}
	}
	gone, err := s.EraseConversation(t.Context(), "fern", "+15415550142", 40)
	require.NoError(t, err)
	require.Equal(t, 40, gone.Lines)
	require.NoError(t, s.Check(t.Context()))
	trimmed, _, err := s.TrimTranscripts(t.Context(), "fern", now.AddDate(0, 0, 30), "", 1000)
	require.NoError(t, err)
	require.Equal(t, 30, trimmed)
	require.NoError(t, s.Check(t.Context()))
	require.NoError(t, s.Close())

	files, err := filepath.Glob(filepath.Join(folder, "*"))
	require.NoError(t, err)
	require.NotEmpty(t, files)
	kept := 0
	for _, file := range files {
		held, err := os.ReadFile(file)
		require.NoError(t, err)
		require.Zero(t, bytes.Count(held, []byte("my secret pool")), file)
		require.Zero(t, bytes.Count(held, []byte("5415550142")), file)
		kept += bytes.Count(held, []byte("my open words"))
	}
	require.NotZero(t, kept)
}
