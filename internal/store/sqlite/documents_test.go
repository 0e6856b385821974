package sqlite_test

import (
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/store"
	"tubhand/internal/store/sqlite"
)

func TestABackupHasDocumentsAndTheAudit(t *testing.T) {
	noon := time.Date(2026, 6, 13, 12, 0, 0, 0, time.UTC)
	s, err := sqlite.Open(filepath.Join(t.TempDir(), "tubhand.db"), sqlite.Options{})
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	require.NoError(t, s.PutDocument(t.Context(), "fern", store.Document{Kind: "account", Key: "dana", Value: []byte("x")}, noon))
	require.NoError(t, s.AppendAudit(t.Context(), "fern", store.AuditEntry{At: noon, Act: "made"}))
	file := filepath.Join(t.TempDir(), "copy.db")
	require.NoError(t, s.Backup(t.Context(), file))
	require.NoError(t, sqlite.Check(t.Context(), file))
	there, err := sqlite.Open(file, sqlite.Options{})
	require.NoError(t, err)
	defer func() { require.NoError(t, there.Close()) }()
	d, err := there.Document(t.Context(), "fern", "account", "dana", noon)
	require.NoError(t, err)
	require.Equal(t, []byte("x"), d.Value)
	list, err := there.Audit(t.Context(), "fern", 0, 10)
	require.NoError(t, err)
	require.Len(t, list, 1)
}

// TestALongAuditIsTrimmedInSteps has more entries than one step of trimming takes.
func TestALongAuditIsTrimmedInSteps(t *testing.T) {
	noon := time.Date(2026, 6, 13, 12, 0, 0, 0, time.UTC)
	s, err := sqlite.Open(filepath.Join(t.TempDir(), "tubhand.db"), sqlite.Options{})
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	for i := range 5 {
		entries := make([]store.AuditEntry, store.MostListed)
		for n := range entries {
			entries[n] = store.AuditEntry{At: noon.Add(time.Duration(i) * time.Hour), Act: fmt.Sprint(i, n)}
		}
		require.NoError(t, s.AppendAudit(t.Context(), "fern", entries...))
	}
	gone, err := s.TrimAudit(t.Context(), "fern", noon.Add(4*time.Hour))
	require.NoError(t, err)
	require.Equal(t, 2000, gone)
	list, err := s.AuditFrom(t.Context(), "fern", 0, 1)
	require.NoError(t, err)
	require.Equal(t, "4 0", list[0].Act)
}
