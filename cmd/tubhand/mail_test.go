package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/mail"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/emersion/go-smtp"
	"github.com/stretchr/testify/require"
)

// relayEnd takes outbound mail.
type relayEnd struct{ got chan []byte }

// NewSession implements smtp.Backend.
func (r relayEnd) NewSession(*smtp.Conn) (smtp.Session, error) { return r, nil }

func (r relayEnd) Reset()                               {}
func (r relayEnd) Logout() error                        { return nil }
func (r relayEnd) Mail(string, *smtp.MailOptions) error { return nil }
func (r relayEnd) Rcpt(string, *smtp.RcptOptions) error { return nil }

func (r relayEnd) Data(m io.Reader) error {
	raw, err := io.ReadAll(m)
	r.got <- raw
	return err
}

// newRelayEnd runs a relay on loopback and gives its port.
func newRelayEnd(t *testing.T) (port int, got chan []byte) {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	r := relayEnd{got: make(chan []byte, 10)}
	s := smtp.NewServer(r)
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(l) }()
	t.Cleanup(func() {
		require.NoError(t, errors.Join(s.Close(), ignoreClosed(l.Close())))
		<-ended
	})
	return l.Addr().(*net.TCPAddr).Port, r.got
}

func ignoreClosed(err error) error {
	if errors.Is(err, net.ErrClosed) {
		return nil
	}
	return err
}

// mailShop is the demo shop with a mailbox; its secrets are in files beside it.
func mailShop(t *testing.T, port int) string {
	t.Helper()
	file := shopFile(t, "http://127.0.0.1:1/out")
	folder := filepath.Dir(file)
	for name, secret := range map[string]string{"key": "0123456789abcdef0123", "hook": "opensesame"} {
		require.NoError(t, os.WriteFile(filepath.Join(folder, name), []byte(secret), 0o600))
	}
	src, err := os.ReadFile(file)
	require.NoError(t, err)
	section := fmt.Sprintf(`
mail:
  address: hello@fernhollow.example
  key: "@%s/key"
  relay: {host: 127.0.0.1, port: %d, tls: none}
  callbacks: {how: shared_secret, secret: "@%s/hook", header: X-Hook-Key}
  trust: {id: mx.fernhollow.example}
`, folder, port, folder)
	require.NoError(t, os.WriteFile(file, append(src, section...), 0o600))
	return file
}

const mailIn = "From: Anna <anna@owner.example>\r\nTo: hello@fernhollow.example\r\nSubject: My tub\r\nMessage-ID: <1@owner.example>\r\n" +
	"Authentication-Results: mx.fernhollow.example; dmarc=pass header.from=owner.example\r\n\r\nhelp\r\n"

func TestServeAnswersMail(t *testing.T) {
	port, got := newRelayEnd(t)
	file := mailShop(t, port)
	s := serveOn(t, "--shop", file, "--data", t.TempDir(), "--smtp", "127.0.0.1:0", "--smtp-name", "mx.fernhollow.example")
	post := func(key string) int {
		req, err := http.NewRequestWithContext(t.Context(), http.MethodPost, s.url+"/in/mail/fernhollow", strings.NewReader(mailIn))
		require.NoError(t, err)
		req.Header.Set("X-Hook-Key", key)
		resp, err := http.DefaultClient.Do(req)
		require.NoError(t, err)
		require.NoError(t, resp.Body.Close())
		return resp.StatusCode
	}
	require.Equal(t, http.StatusUnauthorized, post("guess"))
	require.Equal(t, http.StatusNoContent, post("opensesame"))
	select {
	case raw := <-got:
		m, err := mail.ReadMessage(bytes.NewReader(raw))
		require.NoError(t, err)
		require.Equal(t, "Re: My tub", m.Header.Get("Subject"))
		require.Equal(t, "<1@owner.example>", m.Header.Get("In-Reply-To"))
		require.Equal(t, "<anna@owner.example>", m.Header.Get("To"))
	case <-time.After(10 * time.Second):
		t.Fatal("no mail went out")
	}
	require.Equal(t, http.StatusNoContent, post("opensesame"), "again is the same message")
	code, metrics := s.get(t, "/metrics")
	require.Equal(t, http.StatusOK, code)
	require.Contains(t, metrics, `tubhand_mail_total{outcome="taken"} 2`)
	require.Zero(t, s.stop())
	require.Empty(t, got)
}

func TestServeSaysWhatMailNeeds(t *testing.T) {
	file := mailShop(t, 25)
	plain := shopFile(t, "http://127.0.0.1:1/out")
	for want, args := range map[string][]string{
		"no shop has a mailbox": {"--shop", plain, "--smtp", "127.0.0.1:0"},
		"go together":           {"--shop", file, "--smtp", "127.0.0.1:0", "--smtp-cert", "x"},
		"--smtp-cert goes with": {"--shop", file, "--smtp-cert", "x", "--smtp-key", "y"},
		"--smtp-cert: open":     {"--shop", file, "--smtp", "127.0.0.1:0", "--smtp-cert", "/nowhere/x", "--smtp-key", "/nowhere/y"},
		"name another address":  {"--shop", file, "--smtp", "192.0.2.1:1"},
	} {
		var said bytes.Buffer
		code := run(t.Context(), append([]string{"serve", "--data", t.TempDir(), "--listen", "127.0.0.1:0"}, args...),
			strings.NewReader(""), io.Discard, &said, func(string) string { return "" })
		require.NotZero(t, code)
		require.Contains(t, said.String(), want)
	}
	require.NoError(t, os.Remove(filepath.Join(filepath.Dir(file), "key")))
	var said bytes.Buffer
	require.NotZero(t, run(t.Context(), []string{"serve", "--shop", file, "--data", t.TempDir(), "--listen", "127.0.0.1:0"}, strings.NewReader(""), io.Discard, &said, func(string) string { return "" }))
	require.Contains(t, said.String(), "mail: key: secret:")
}
