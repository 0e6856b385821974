package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/alicebob/miniredis/v2"
	"github.com/stretchr/testify/require"

	"tubhand/internal/store/move"
	"tubhand/internal/store/storetest"
)

// TestMoveToRedisAndBack goes all the way round, and serves on from the end of it.
func TestMoveToRedisAndBack(t *testing.T) {
	dir := t.TempDir()
	first, last := filepath.Join(dir, "first"), filepath.Join(dir, "last")
	redis := "redis://" + miniredis.RunT(t).Addr()
	s, err := openFolder(first)
	require.NoError(t, err)
	for _, who := range []string{"anna", "ben", "anna"} {
		require.NoError(t, storetest.BenchTurn(t.Context(), s, who))
	}
	busy := tubhand(t, "move", "--from", first, "--to", redis)
	require.Equal(t, 1, busy.code)
	require.Contains(t, busy.err, "another tubhand serves from this file")
	require.NoError(t, s.Close())

	var reports [2]move.Report
	for i, places := range [][2]string{{first, redis}, {redis, last}} {
		got := tubhand(t, "move", "--from", places[0], "--to", places[1])
		require.Equal(t, 0, got.code, got.err)
		require.NoError(t, json.Unmarshal([]byte(got.out), &reports[i]))
	}
	require.Equal(t, reports[0], reports[1])
	require.Equal(t, 2, reports[0].Conversations)
	require.Equal(t, 6, reports[0].Lines)
	require.NotEmpty(t, reports[0].Digest)
	require.Equal(t, 0, tubhand(t, "backup", "--check", filepath.Join(last, "tubhand.db")).code)

	s, err = openFolder(last)
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	require.NoError(t, storetest.BenchTurn(t.Context(), s, "ben"))
}

func TestMoveRefuses(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "file")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	s, err := openFolder(dir)
	require.NoError(t, err)
	require.NoError(t, s.Close())
	for _, c := range []struct {
		args []string
		code int
		says string
	}{
		{nil, 2, "usage: tubhand move"},
		{[]string{"--from", dir}, 2, "usage: tubhand move"},
		{[]string{"--from", dir, "--to", dir}, 2, "the same place"},
		{[]string{"--from", filepath.Join(dir, "none"), "--to", dir}, 1, "there is no store to copy from"},
		{[]string{"--from", dir, "--to", filepath.Join(file, "x")}, 1, "data folder"},
		{[]string{"--from", "redis://127.0.0.1:1", "--to", dir}, 1, "no answer"},
		{[]string{"--from", "@" + file + "s", "--to", dir}, 1, "no such file"},
	} {
		got := tubhand(t, append([]string{"move"}, c.args...)...)
		require.Equal(t, c.code, got.code, c.args)
		require.Contains(t, got.err, c.says)
		require.Empty(t, got.out)
	}
}
