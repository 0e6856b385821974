package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
	"tubhand/internal/rights"
	"tubhand/internal/shop"
	"tubhand/internal/store"
)

// ownerShop is a shop file and a store with one owner in it.
func ownerShop(t *testing.T, severity string) (file, data string) {
	t.Helper()
	folder := t.TempDir()
	file, data = filepath.Join(folder, "shop.yaml"), filepath.Join(folder, "data")
	require.NoError(t, os.WriteFile(file, shop.DemoSource(), 0o600))
	s, err := openFolder(data)
	require.NoError(t, err)
	const who = "+15415550142"
	c := conversation.Conversation{Shop: shop.Demo().Shop.Key, ID: who, Owner: conversation.Owner{Addresses: []string{who}}}
	c.OptOut(who, time.Date(2026, 6, 13, 12, 0, 0, 0, time.UTC))
	if severity != "" {
		c.Open = []conversation.Handover{{ID: who + ".2", Conversation: who, Severity: severity, Cause: "swallowed"}}
	}
	require.NoError(t, s.Commit(t.Context(), store.Turn{Shop: c.Shop, Now: time.Date(2026, 6, 13, 12, 0, 0, 0, time.UTC), State: c, Effects: conversation.Effects{
		Lines: []conversation.Line{{ID: who + ".1", Direction: conversation.In, Text: "hello there"}}, Handovers: c.Open,
	}}))
	require.NoError(t, s.Close())
	return file, data
}

func askOwner(t *testing.T, env map[string]string, args ...string) (code int, out, err string) {
	t.Helper()
	var o, e bytes.Buffer
	code = run(t.Context(), append([]string{"owner"}, args...), strings.NewReader(""), &o, &e, func(name string) string { return env[name] })
	return code, o.String(), e.String()
}

func TestOwnerExportsAndErases(t *testing.T) {
	file, data := ownerShop(t, "")
	code, out, wrong := askOwner(t, nil, "export", file, "(541) 555-0142", "--data", data)
	require.Zero(t, code, wrong)
	var e rights.Export
	require.NoError(t, json.Unmarshal([]byte(out), &e))
	require.Equal(t, "hello there", e.Transcript[0].Text)

	code, out, wrong = askOwner(t, nil, "erase", "--data", data, file, "+15415550142")
	require.Zero(t, code, wrong)
	require.JSONEq(t, `{"lines": 1, "log_entries": 0, "cases": 0, "reminders": 0}`, out)

	code, out, wrong = askOwner(t, nil, "export", file, "+15415550142", "--data", data)
	require.Zero(t, code, wrong)
	require.NoError(t, json.Unmarshal([]byte(out), &e))
	require.Len(t, e.OptOuts, 1, "that they opted out is kept")
	require.Contains(t, out, `"conversation": null`)
	code, _, wrong = askOwner(t, nil, "erase", file, "+15415550142", "--data", data)
	require.Equal(t, 1, code)
	require.Contains(t, wrong, "nothing is kept")

	code, _, wrong = askOwner(t, map[string]string{"TUBHAND_SECRET": "another"}, "export", file, "+15415550142", "--data", data)
	require.Equal(t, 1, code)
	require.Contains(t, wrong, "TUBHAND_SECRET")
}

func TestOwnerErasesNobodyInAnEmergency(t *testing.T) {
	file, data := ownerShop(t, "emergency")
	code, _, wrong := askOwner(t, nil, "erase", file, "+15415550142", "--data", data)
	require.Equal(t, 1, code)
	require.Contains(t, wrong, "--force")
	code, _, wrong = askOwner(t, nil, "erase", "--force", file, "+15415550142", "--data", data)
	require.Zero(t, code, wrong)
}

func TestOwnerSaysWhatIsWrong(t *testing.T) {
	file, data := ownerShop(t, "")
	for want, args := range map[string][]string{
		"usage:":                {"export", file},
		"usage: ":               {"forget", file, "+15415550142"},
		"exclude each other":    {"export", file, "+15415550142", "--data", data, "--redis", "redis://127.0.0.1:1"},
		"write a number like":   {"export", file, "somebody", "--data", data},
		"there is no store":     {"export", file, "+15415550142", "--data", filepath.Join(data, "elsewhere")},
		"no such file":          {"erase", filepath.Join(data, "none.yaml"), "+15415550142", "--data", data},
		"export SHOP":           {"export", file, "+15415550142", "--force", "--data", data},
		"flag provided but not": {"erase", file, "--now"},
	} {
		code, out, wrong := askOwner(t, nil, args...)
		require.NotZero(t, code, want)
		require.Contains(t, wrong, want)
		require.Empty(t, out)
	}
	require.NoFileExists(t, filepath.Join(data, "elsewhere", "tubhand.db"))
}

func TestTheSecretMayBeInAFile(t *testing.T) {
	v := shop.Vault{Env: func(string) string { return "@key" }, File: func(name string) ([]byte, error) { return []byte(name + " text\n"), nil }}
	secret, err := installationSecret(v)
	require.NoError(t, err)
	require.Equal(t, "key text", string(secret))
	v.Env = func(string) string { return "plain" }
	secret, err = installationSecret(v)
	require.NoError(t, err)
	require.Equal(t, "plain", string(secret))
	v.Env = func(string) string { return "" }
	secret, err = installationSecret(v)
	require.NoError(t, err)
	require.Nil(t, secret)
	v = shop.Vault{Env: func(string) string { return "@key" }, File: func(string) ([]byte, error) { return nil, os.ErrNotExist }}
	_, err = installationSecret(v)
	require.ErrorContains(t, err, "TUBHAND_SECRET")
}
