package sqlite

import (
	"fmt"
	"io/fs"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/store"
)

// fileOfVersion makes a file as an older program left it.
func fileOfVersion(t *testing.T, version int, records string) (path string) {
	t.Helper()
	path = filepath.Join(t.TempDir(), "tubhand.db")
	c, err := connect(dsn(path, "rwc", writersCache))
	require.NoError(t, err)
	steps, err := fs.ReadDir(migrations, "migrations")
	require.NoError(t, err)
	for i := range version {
		text, err := fs.ReadFile(migrations, "migrations/"+steps[i].Name())
		require.NoError(t, err)
		require.NoError(t, c.script(string(text)))
	}
	require.NoError(t, c.script(records))
	require.NoError(t, c.script(fmt.Sprintf("PRAGMA user_version = %d", version)))
	require.NoError(t, c.close())
	return path
}

// TestOutboxOfOneQueueIsPartedByRecipient opens a file of the first version, in which a
// page waits behind a text that is tried again in an hour.
func TestOutboxOfOneQueueIsPartedByRecipient(t *testing.T) {
	at := time.Date(2026, 6, 13, 12, 0, 0, 0, time.UTC)
	later := at.Add(time.Hour).UnixMilli()
	path := fileOfVersion(t, 1, `
		INSERT INTO shop VALUES (1, 'fernhollow', 1, 1, 3, 0, 0);
		INSERT INTO conversation VALUES (1, 1, 'anna', 1, 0, 3, 3, 0, 'anna', '', 0, x'', '{"shop":"fernhollow","id":"anna","owner":{"addresses":["anna"]}}');
		INSERT INTO address VALUES (1, 'anna', 1);
		INSERT INTO touch VALUES (1, 1, 1);
		INSERT INTO line VALUES
			(1, 1, 0, '1', NULL, 'queued', '{"id":"anna.1","direction":"out","send":true,"to":"anna"}'),
			(2, 1, 1, '2', NULL, 'queued', '{"id":"anna.2","direction":"out","send":true,"to":"anna"}'),
			(3, 1, 2, '3', NULL, 'queued', '{"id":"anna.3","direction":"page","send":true,"to":"dana"}');
		INSERT INTO outbox VALUES (1, 1, 1, 0, `+fmt.Sprint(later)+`, 1), (2, 1, 1, 0, NULL, 0), (3, 1, 1, 0, NULL, 0);`)
	s, err := Open(path, Options{})
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	require.NoError(t, s.Check(t.Context()))
	ids := func() (ids []string) {
		out, err := s.ClaimOutbox(t.Context(), at, time.Minute, 10)
		require.NoError(t, err)
		for _, o := range out {
			ids = append(ids, o.Line.ID)
		}
		return ids
	}
	require.Equal(t, []string{"anna.3"}, ids())
	require.NoError(t, s.SettleOutbox(t.Context(), []store.Result{{Shop: "fernhollow", Line: "anna.3", Kind: store.Sent}}))
	at = at.Add(time.Hour)
	require.Equal(t, []string{"anna.1"}, ids(), "the owner's keep their order and their time")
	require.NoError(t, s.Check(t.Context()))
}
