package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/store/sqlite"
	"tubhand/internal/store/storetest"
)

// TestBackupAndRestore copies a store that is open, restores the copy, and finds what was
// there.
func TestBackupAndRestore(t *testing.T) {
	dir := t.TempDir()
	data, copied := filepath.Join(dir, "data"), filepath.Join(dir, "copy.db")
	s, err := openFolder(data)
	require.NoError(t, err)
	for range 20 {
		require.NoError(t, storetest.BenchTurn(t.Context(), s, "anna"))
	}
	got := tubhand(t, "backup", "--data", data, copied)
	require.Equal(t, 0, got.code, got.err)
	require.Contains(t, got.out, "copy.db is sound")
	require.NoError(t, storetest.BenchTurn(t.Context(), s, "anna"))
	require.NoError(t, s.Close())

	again := tubhand(t, "backup", "--data", data, copied)
	require.Equal(t, 1, again.code)
	require.Contains(t, again.err, "choose another", "a copy is never written over")

	restored := filepath.Join(dir, "restored")
	require.NoError(t, os.Mkdir(restored, 0o700))
	require.NoError(t, os.Rename(copied, filepath.Join(restored, "tubhand.db")))
	s, err = openFolder(restored)
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	c, err := s.Load(t.Context(), "fernhollow", "anna")
	require.NoError(t, err)
	require.Equal(t, int64(20), c.Version)
}

func TestBackupFindsDamage(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "tubhand.db")
	s, err := sqlite.Open(file, sqlite.Options{})
	require.NoError(t, err)
	for range 200 {
		require.NoError(t, storetest.BenchTurn(t.Context(), s, "anna"))
	}
	require.NoError(t, s.Close())
	require.Equal(t, 0, tubhand(t, "backup", "--check", file).code)

	written, err := os.ReadFile(file)
	require.NoError(t, err)
	for i := len(written) / 2; i < len(written)/2+8192; i++ {
		written[i] ^= 0x55
	}
	require.NoError(t, os.WriteFile(file, written, 0o600))
	got := tubhand(t, "backup", "--check", file)
	require.Equal(t, 1, got.code)
	require.Contains(t, got.err, file)
	require.Empty(t, got.out)
}

func TestBackupRefuses(t *testing.T) {
	dir := t.TempDir()
	for _, c := range []struct {
		args []string
		code int
		says string
	}{
		{nil, 2, "usage: tubhand backup"},
		{[]string{"a", "b"}, 2, "usage: tubhand backup"},
		{[]string{"--check", "--data", dir, "a"}, 2, "usage: tubhand backup"},
		{[]string{"--swim"}, 2, "not defined"},
		{[]string{"--data", dir, filepath.Join(dir, "copy")}, 1, "no such file"},
		{[]string{"--check", filepath.Join(dir, "none")}, 1, "no such file"},
	} {
		got := tubhand(t, append([]string{"backup"}, c.args...)...)
		require.Equal(t, c.code, got.code, c.args)
		require.Contains(t, got.err, c.says)
		require.Empty(t, got.out)
	}
}
