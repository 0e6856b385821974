package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

const reedlineShop = "../../testdata/shops/reedline.yaml"

// withSecrets runs the program where the sample gateway's secret is set.
func withSecrets(t *testing.T, args ...string) ran {
	t.Helper()
	var out, errs bytes.Buffer
	code := run(t.Context(), args, strings.NewReader(""), &out, &errs, secrets)
	return ran{code, out.String(), errs.String()}
}

func secrets(name string) string {
	return map[string]string{"REEDLINE_SIGNING_SECRET": "test-secret-not-for-production"}[name]
}

func TestShopCheckSaysWhatItUnderstood(t *testing.T) {
	got := withSecrets(t, "shop", "check", reedlineShop, "../../internal/shop/demo.yaml")
	require.Equal(t, 0, got.code, got.err)
	require.Contains(t, got.out, "reedline.yaml: good. This is what was understood:")
	require.Contains(t, got.out, "  ! gateway plain: its callbacks are not signed")
	require.Contains(t, got.out, "  ! gateway reedline: not there for whoever runs this: secret: open /etc/tubhand/reedline.token")
}

func TestShopCheckTellsAllThatIsWrong(t *testing.T) {
	want, err := os.ReadFile("../../testdata/shops/broken.txt")
	require.NoError(t, err)
	got := withSecrets(t, "shop", "check", "../../testdata/shops/broken.yaml")
	require.Equal(t, 1, got.code)
	require.Equal(t, string(want), strings.ReplaceAll(got.err, "../../testdata/shops/", ""))
	require.Empty(t, got.out)

	got = withSecrets(t, "shop", "check", "--json", "../../testdata/shops/broken.yaml", "none.yaml", reedlineShop)
	require.Equal(t, 1, got.code)
	lines := strings.Split(strings.TrimSpace(got.out), "\n")
	require.Len(t, lines, 3)
	var answers [3]checked
	for i := range answers {
		require.NoError(t, json.Unmarshal([]byte(lines[i]), &answers[i]))
	}
	require.False(t, answers[0].OK)
	require.Equal(t, problem{2, 7, "shop", "is no usable key; use up to 40 small letters, digits, - and _, like fernhollow"}, answers[0].Problems[0])
	require.Contains(t, answers[1].Problems[0].Text, "no such file")
	require.True(t, answers[2].OK)
	require.Equal(t, "corner", answers[2].Shop)
	require.NotEmpty(t, answers[2].Understood)
}

func TestShopReplay(t *testing.T) {
	got := withSecrets(t, "shop", "replay", reedlineShop, "../../testdata/gateways/reedline-text.http")
	require.Equal(t, 0, got.code, got.err)
	require.Contains(t, got.out, "-- signature: holds (hmac_body)")
	require.Contains(t, got.out, `   body   "hi, need to flush my pipes"`)
	require.Contains(t, got.out, "-- serve would answer 200")

	got = withSecrets(t, "shop", "replay", reedlineShop, "--json", "../../testdata/gateways/reedline-old.http", "none.http")
	require.Equal(t, 1, got.code)
	require.Contains(t, got.err, "reedline-old.http: would not be taken as it is")
	require.Contains(t, got.err, "none.http: ")
	var made shown
	require.NoError(t, json.Unmarshal([]byte(got.out), &made))
	require.Equal(t, 401, made.Answer)
}

func TestShopIsMisused(t *testing.T) {
	for _, args := range [][]string{{}, {"swim"}, {"check"}, {"check", "--swim"}, {"record"}, {"record", "a", "b"},
		{"record", "a", "--answer", "7"}, {"replay", "only.yaml"}, {"replay", "--swim"}} {
		got := withSecrets(t, append([]string{"shop"}, args...)...)
		require.Equal(t, 2, got.code, args)
		require.Contains(t, got.err, "usage: tubhand shop check", args)
	}
	for _, args := range [][]string{{"-h"}, {"check", "-h"}, {"record", "-h"}, {"replay", "-h"}} {
		require.Equal(t, 0, withSecrets(t, append([]string{"shop"}, args...)...).code)
	}
	got := withSecrets(t, "shop", "record", reedlineShop, "--gateway", "other")
	require.Equal(t, 1, got.code)
	require.Contains(t, got.err, `has no gateway "other"; write one of: reedline`)
	got = tubhand(t, "shop", "record", reedlineShop)
	require.Equal(t, 1, got.code)
	require.Contains(t, got.err, "there is nothing in $REEDLINE_SIGNING_SECRET")
	got = withSecrets(t, "shop", "record", reedlineShop, "--listen", "nowhere:x")
	require.Equal(t, 1, got.code)
	require.Contains(t, got.err, "name another address with --listen")
}

// A technician records what a gateway posts, and replays what was saved.
func TestShopRecord(t *testing.T) {
	ctx, end := context.WithCancel(t.Context())
	folder := t.TempDir()
	errRead, errWrite := io.Pipe()
	var out bytes.Buffer
	code := make(chan int, 1)
	go func() {
		code <- run(ctx, []string{"shop", "record", reedlineShop, "--listen", "127.0.0.1:0", "--save", folder},
			strings.NewReader(""), &out, errWrite, secrets)
		errWrite.Close()
	}()
	said := make([]byte, 200)
	n, err := errRead.Read(said)
	require.NoError(t, err)
	at, _, _ := strings.Cut(strings.TrimPrefix(string(said[:n]), "recording on "), ";")
	go func() { _, _ = io.Copy(io.Discard, errRead) }()

	resp, err := http.Post(at+"/in/sms/reedline", "application/json", strings.NewReader(`{"messages":[{"type":"text","id":"1","sender":{"number":"15415550142"},"line":"5415550121","content":{"words":"hi`+"\u001b"+`[2J"}}]}`))
	require.NoError(t, err)
	body, err := io.ReadAll(resp.Body)
	require.NoError(t, err)
	resp.Body.Close()
	require.Equal(t, 200, resp.StatusCode, "the gateway hears what it would hear")
	require.Equal(t, `{"received":true}`, string(body))
	end()
	require.Equal(t, 0, <-code)
	require.Contains(t, out.String(), "-- signature: does not hold: header X-Reedline-Signature is missing")
	require.Contains(t, out.String(), "-- serve would answer 401")
	require.NotContains(t, out.String(), "\u001b", "a stranger's bytes do not steer the terminal")

	files, err := filepath.Glob(filepath.Join(folder, "*.http"))
	require.NoError(t, err)
	require.Len(t, files, 1)
	got := withSecrets(t, "shop", "replay", reedlineShop, files[0])
	require.Equal(t, 1, got.code)
	require.Contains(t, got.out, "header X-Reedline-Signature is missing")
}

// The whole way through the server: a signed text in, the answer out through the
// described request, its report back by the gateway's own id, over a restart.
func TestServeThroughADescribedGateway(t *testing.T) {
	far := &farGateway{got: make(chan map[string]any, 10)}
	url := far.serve(t)
	src, err := os.ReadFile(reedlineShop)
	require.NoError(t, err)
	token := filepath.Join(t.TempDir(), "token")
	require.NoError(t, os.WriteFile(token, []byte("tok\n"), 0o600))
	file := filepath.Join(t.TempDir(), "shop.yaml")
	text := strings.NewReplacer("https://api.reedline.example", url, "@/etc/tubhand/reedline.token", "@"+token,
		"key: reference", "id: message_id", "how: hmac_body", "how: none", "      secret: $REEDLINE_SIGNING_SECRET\n", "",
		"      header: X-Reedline-Signature\n      part: v1\n      time_part: t\n      hash: sha256\n      written: hex\n      within: 5m\n", "").Replace(string(src))
	require.NoError(t, os.WriteFile(file, []byte(text), 0o600))
	data := t.TempDir()
	s := serveOn(t, "--shop", file, "--data", data)
	post := func(s *served, body string) int {
		resp, err := http.Post(s.url+"/in/sms/reedline", "application/json", strings.NewReader(body))
		require.NoError(t, err)
		defer resp.Body.Close()
		return resp.StatusCode
	}
	require.Equal(t, 200, post(s, `{"messages":[{"type":"text","id":"1","sender":{"number":"15415550142"},"line":"5415550121","content":{"words":"FLUSH"}}]}`))
	select {
	case m := <-far.got:
		require.Equal(t, "+15415550121", m["line"])
		require.NotEmpty(t, m["content"].(map[string]any)["words"])
	case <-time.After(10 * time.Second):
		t.Fatal("no message went out")
	}
	report := `{"messages":[{"type":"report","message_id":"far-1","state":"arrived"}]}`
	require.Equal(t, 200, post(s, report))
	require.Equal(t, 0, s.stop())
	s = serveOn(t, "--shop", file, "--data", data)
	require.Equal(t, 200, post(s, report), "the id is still known after a restart")
	require.Equal(t, 404, post(s, strings.Replace(report, "far-1", "far-9", 1)))
}

// farGateway is the far side of the described gateway.
type farGateway struct{ got chan map[string]any }

func (g *farGateway) serve(t *testing.T) string {
	t.Helper()
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		var m map[string]any
		if json.NewDecoder(r.Body).Decode(&m) != nil || r.Header.Get("Authorization") != "Bearer tok" {
			w.WriteHeader(400)
			return
		}
		w.WriteHeader(202)
		_, _ = io.WriteString(w, `{"message":{"id":"far-1"}}`)
		g.got <- m
	}))
	t.Cleanup(srv.Close)
	return srv.URL
}
