package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/clock"
	"tubhand/internal/store/redis/redistest"
)

// TestBenchMeasuresWhatItSays runs a small measurement on each store. Its figures are of a
// machine that is busy with tests; only that they are there is looked at.
func TestBenchMeasuresWhatItSays(t *testing.T) {
	measure := func(t *testing.T, o benchOptions) benchReport {
		o.seconds, o.connections, o.due, o.drain = 1, 8, 300, 300
		m := &measurement{benchOptions: o, clock: clock.System()}
		f, err := m.most(t.Context())
		require.NoError(t, err)
		r := *f.(*benchReport)
		require.Positive(t, r.Whole.Requests)
		require.Zero(t, r.Whole.Refused, "every text is a turn")
		require.Positive(t, r.Bare.Requests)
		require.Zero(t, r.Bare.Refused)
		require.InDelta(t, r.Whole.PerSecond/r.Bare.PerSecond, r.Ratio, 0.01)
		require.Zero(t, r.Half.Refused)
		require.Equal(t, 300, r.Due.Reminders)
		require.Positive(t, r.Due.Seconds)
		require.Zero(t, r.Due.Texts.Refused)
		require.Positive(t, r.Drain.PerSecond)
		require.Contains(t, r.Keeps, "on")
		return r
	}
	t.Run("sqlite", func(t *testing.T) {
		data := t.TempDir()
		r := measure(t, benchOptions{store: "sqlite", data: data})
		left, err := filepath.Glob(filepath.Join(data, "*"))
		require.NoError(t, err)
		require.Empty(t, left, "nothing is left behind")
		var table bytes.Buffer
		r.table(&table)
		require.Contains(t, table.String(), "whole / bare")
		written, err := json.Marshal(r)
		require.NoError(t, err)
		for _, field := range []string{`"whole":{"requests"`, `"ratio":`, `"p99_ms":`, `"half":{"rate"`, `"due":{"reminders"`, `"drain":{"messages"`} {
			require.Contains(t, string(written), field)
		}
	})
	t.Run("redis", func(t *testing.T) {
		server := redistest.Start(t)
		measure(t, benchOptions{store: "redis", redis: redisOptions{address: server.URL()}})
		left, err := server.Client().DBSize(t.Context()).Result()
		require.NoError(t, err)
		require.Zero(t, left, "nothing is left behind")
	})
}

func TestBenchRefuses(t *testing.T) {
	for _, c := range []struct {
		args []string
		code int
		says string
	}{
		{[]string{"extra"}, 2, `unexpected "extra"`},
		{[]string{"--store", "paper"}, 2, `no store "paper"`},
		{[]string{"--store", "redis"}, 2, "go together"},
		{[]string{"--redis", "redis://127.0.0.1:1"}, 2, "go together"},
		{[]string{"--seconds", "3600"}, 2, "1 to 60"},
		{[]string{"--profile", "guess"}, 2, `no profile "guess"`},
		{[]string{"--profile", "tubs", "--store", "redis", "--redis", "redis://127.0.0.1:1"}, 2, "for sqlite"},
		{[]string{"--tubs", "3"}, 2, "--tubs 1000"},
		{[]string{"--rate", "-1"}, 2, "--rate is"},
		{[]string{"--store", "redis", "--redis", "redis://127.0.0.1:1"}, 1, "no answer"},
		{[]string{"--data", filepath.Join(os.TempDir(), "no", "such", "folder")}, 1, "no such file"},
	} {
		got := tubhand(t, append([]string{"bench"}, c.args...)...)
		require.Equal(t, c.code, got.code, c.args)
		require.Contains(t, got.err, c.says)
		require.Empty(t, got.out)
	}
}
