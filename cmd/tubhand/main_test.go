package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestMain lets the test binary stand in for the program, for tests that start it and
// kill it.
func TestMain(m *testing.M) {
	if os.Getenv(asVictim) != "" {
		os.Exit(victim())
	}
	os.Exit(m.Run())
}

// ran is what one run of the program left.
type ran struct {
	code     int
	out, err string
}

func tubhand(t *testing.T, args ...string) ran {
	t.Helper()
	var out, errs bytes.Buffer
	code := run(t.Context(), args, strings.NewReader(""), &out, &errs, func(string) string { return "" })
	return ran{code, out.String(), errs.String()}
}

func TestUsage(t *testing.T) {
	for _, c := range commands() {
		require.Contains(t, tubhand(t, "help").out, "tubhand "+c.name)
		require.NotEmpty(t, c.does)
	}
	require.Equal(t, 0, tubhand(t, "--help").code)
	none := tubhand(t)
	require.Equal(t, 2, none.code)
	require.Empty(t, none.out)
	require.Contains(t, none.err, "tubhand serve")
	wrong := tubhand(t, "swim")
	require.Equal(t, 2, wrong.code)
	require.Contains(t, wrong.err, `there is no "swim"`)
}

func TestHelpOfEachCommandIsNoFailure(t *testing.T) {
	for _, c := range commands() {
		got := tubhand(t, c.name, "-h")
		require.Contains(t, []int{0, 2}, got.code, c.name)
		require.NotEmpty(t, got.err+got.out, c.name)
	}
}

func TestServeRefuses(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		file := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(file, []byte(text), 0o600))
		return file
	}
	demo, err := os.ReadFile("../../internal/shop/demo.yaml")
	require.NoError(t, err)
	good := write("good.yaml", string(demo))
	twin := write("twin.yaml", string(demo))
	bad := write("bad.yaml", strings.Replace(string(demo), "language: en", "language: latin", 1))
	sameLine := write("same.yaml", strings.Replace(string(demo), "shop: fernhollow", "shop: mossbank", 1))
	unfit := write("a-file", "x")
	for _, c := range []struct {
		args []string
		code int
		says string
	}{
		{nil, 2, "usage: tubhand serve --shop"},
		{[]string{"--shop", good, "--redis", "redis://127.0.0.1:1"}, 1, "no answer from redis://127.0.0.1:1"},
		{[]string{"--shop", good, "--redis", "localhost"}, 1, "begins with nothing, not with redis://"},
		{[]string{"--shop", good, "--redis", "redis://127.0.0.1:1", "--data", good}, 2, "exclude each other"},
		{[]string{"--shop", good, "extra"}, 2, `unexpected "extra"`},
		{[]string{"--swim"}, 2, "flag provided but not defined"},
		{[]string{"--shop", filepath.Join(dir, "none.yaml")}, 1, "none.yaml: no such file"},
		{[]string{"--shop", bad}, 1, "bad.yaml:9:11: language: is not known"},
		{[]string{"--shop", good, "--shop", twin}, 1, `has the key "fernhollow", as ` + good + " has"},
		{[]string{"--shop", good, "--shop", sameLine, "--data", filepath.Join(dir, "d1")}, 1, "both have the line +15415550100"},
		{[]string{"--shop", good, "--data", filepath.Join(unfit, "d")}, 1, "data folder"},
		{[]string{"--shop", good, "--data", filepath.Join(dir, "d2"), "--listen", "nowhere:x"}, 1, "name another address with --listen"},
	} {
		got := tubhand(t, append([]string{"serve"}, c.args...)...)
		require.Equal(t, c.code, got.code, "%v: %s", c.args, got.err)
		require.Contains(t, got.err, c.says)
		require.Empty(t, got.out)
	}
	require.Equal(t, 0, tubhand(t, "serve", "-h").code)
}

func TestHealthOfNobody(t *testing.T) {
	require.Equal(t, 1, tubhand(t, "health", "--url", "http://127.0.0.1:1/readyz").code)
	require.Equal(t, 2, tubhand(t, "health", "--url", "http://[").code)
	require.Equal(t, 2, tubhand(t, "health", "--swim").code)
}

func TestRunEndsWithItsContext(t *testing.T) {
	ended, end := context.WithCancel(t.Context())
	end()
	var out, errs bytes.Buffer
	code := run(ended, []string{"serve", "--shop", "../../internal/shop/demo.yaml", "--data", t.TempDir(), "--listen", "127.0.0.1:0"},
		strings.NewReader(""), &out, &errs, func(string) string { return "" })
	require.Equal(t, 0, code, errs.String())
	require.Contains(t, out.String(), "listening on http://127.0.0.1:")
}
